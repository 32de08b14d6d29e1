import math

import pytest

from ramphold.errors import InputError
from ramphold.method.editions import CURRENT, EDITIONS
from ramphold.method.entered import PROPERTIES, judge_entered, mean_entered, mean_shape
from ramphold.method.gravimetric import Material


def judged(what, value, material=Material.SAND):
    """By the default edition, at a size whose limits are those of most."""
    return judge_entered(what, value, EDITIONS[CURRENT].limit_of(what, material, "20/40"))


@pytest.mark.parametrize("turbidity", [29.0, 220.0, 21.0, 80.0])
def test_the_published_turbidities_pass(turbidity):
    # published: North Dakota Geological Survey 29 to 220; Khair et al. 2017 21 to 80
    assert judged("turbidity", turbidity).passes is True


def test_the_north_dakota_sands_are_round_too_little_and_spherical_enough():
    # published: North Dakota Geological Survey: roundness 0.5, sphericity 0.6
    assert judged("roundness", 0.5).passes is False
    assert judged("sphericity", 0.6).passes is True


@pytest.mark.parametrize("material", [Material.CERAMIC, Material.RESIN_COATED])
def test_ceramic_and_coated_grains_must_be_rounder(material):
    # from memory: ISO 13503-2:2006 clause 7
    assert judged("roundness", 0.65, material).passes is False
    assert str(judged("roundness", 0.7, material).limit) == "0.7 or more"


def test_a_turbidity_on_its_limit_passes():
    # from memory: ISO 13503-2:2006 clause 9
    assert judged("turbidity", 250.0).passes is True
    assert judged("turbidity", 250.1).passes is False
    assert str(judged("turbidity", 250.1).limit) == "250 or less"


def test_one_per_cent_of_clusters_is_the_most():  # common practice, no source
    assert judged("clusters", 1.1).passes is False


def test_a_shape_is_the_mean_over_the_grains():
    found = mean_shape(
        "sphericity",
        {0.5: 4, 0.7: 12, 0.9: 4},
        EDITIONS[CURRENT].limit_of("sphericity", "sand", "20/40"),
    )

    assert found.value == pytest.approx(0.7)
    assert (found.passes, found.findings) == (True, ())


def test_under_twenty_grains_are_too_few():
    # from memory: ISO 13503-2:2006 clause 7
    found = mean_shape("roundness", {0.7: 19})

    assert found.findings == ("19 grains: expected 20 or more",)


@pytest.mark.parametrize("counts", [{0.0: 20}, {1.1: 20}, {math.nan: 20}, {0.7: -1}])
def test_counts_off_the_chart_are_refused(counts):
    with pytest.raises(InputError, match="expected chart values above 0 up to 1, and counts"):
        mean_shape("roundness", counts)


def test_no_grains_are_refused():
    with pytest.raises(InputError, match="no grains were counted"):
        mean_shape("roundness", {0.7: 0})


@pytest.mark.parametrize("what", ["turbidity", "colour"])
def test_what_is_no_shape_has_no_grains(what):
    with pytest.raises(InputError, match="expected sphericity or roundness"):
        mean_shape(what, {0.7: 20})


def test_an_unknown_property_or_a_broken_value_is_refused():
    with pytest.raises(InputError, match=f"expected one of {', '.join(PROPERTIES)}"):
        judge_entered("colour", 1.0)
    for value in (-1.0, math.nan):
        with pytest.raises(InputError, match="expected a number of 0 or more"):
            judge_entered("turbidity", value)


@pytest.mark.parametrize(
    ("what", "most", "beyond"),
    [
        ("sphericity", 1.0, 7.0),
        ("roundness", 1.0, 1.01),
        ("turbidity", 10_000.0, 2e9),
        ("apparent density", 10.0, 99.0),
        ("room temperature", 60.0, 500.0),
        ("room humidity", 100.0, 101.0),
        ("clusters", 100.0, 2e9),
        ("agglomerates", 100.0, 100.1),
    ],
)
def test_a_value_that_nothing_can_have_is_refused(what, most, beyond):
    assert judge_entered(what, most).value == most
    for refused in (lambda: judge_entered(what, beyond), lambda: mean_entered(what, (0, beyond))):
        with pytest.raises(InputError, match=rf"{what} is .*: expected {most:g}.* or less"):
            refused()


def test_the_mean_of_determinations_is_that_of_each_allowed_one_and_of_one_at_least():
    assert mean_entered("turbidity", (10.0, 20.0, 60.0)).value == 30.0
    assert mean_entered("turbidity", (10.0,)).determinations == (10.0,)
    with pytest.raises(InputError, match="turbidity: expected one determination or more"):
        mean_entered("turbidity", ())
    with pytest.raises(InputError, match="expected a number of 0 or more"):
        mean_entered("turbidity", (-1.0, 31.0))
