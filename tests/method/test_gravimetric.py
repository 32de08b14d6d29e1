import math

import pytest

from ramphold.errors import InputError
from ramphold.method.editions import CURRENT, EDITIONS
from ramphold.method.gravimetric import TESTS, Material, measure


def a_loss(name, before_g, after_g, *, material=Material.SAND, size="40/70"):
    limit = EDITIONS[CURRENT].limit_of(name, material, size)
    return measure(TESTS[name], before_g, after_g, limit)


@pytest.mark.parametrize(
    ("before_g", "after_g", "printed", "exact"),
    [(4813.48, 4801.27, 0.25, 0.2537), (1564.80, 1551.70, 0.84, 0.8372)],
)
def test_the_published_wash_losses_come_out_as_printed(before_g, after_g, printed, exact):
    # published: genevainternational.net, frac sand page, wash loss; recomputed to four figures
    found = a_loss("wash loss", before_g, after_g)

    assert round(found.loss_pct, 2) == printed
    assert found.loss_pct == pytest.approx(exact, abs=5e-5)
    assert (found.limit, found.passes) == (None, None)


@pytest.mark.parametrize("acid_pct", [6.5, 22.2])
def test_the_north_dakota_sands_dissolve_too_much_at_both_ends_of_their_range(acid_pct):
    # published: North Dakota Geological Survey study of 2018 samples, mostly 70/140
    found = a_loss("acid solubility", 5.0, 5.0 * (1 - acid_pct / 100), size="70/140")

    assert found.loss_pct == pytest.approx(acid_pct)
    assert found.passes is False


@pytest.mark.parametrize("acid_pct", [0.14, 0.68])
def test_the_desert_sands_dissolve_little_at_both_ends_of_their_range(acid_pct):
    # published: Khair et al. 2017, Oil Gas Res 3:2, doi:10.4172/2472-0518.1000137
    assert a_loss("acid solubility", 5.0, 5.0 * (1 - acid_pct / 100), size="20/40").passes is True


def test_the_acid_limit_goes_with_size_and_material():
    # from memory: ISO 13503-2:2006 clause 8; 40/60 is taken with 40/70
    def limit(material, size):
        found = EDITIONS[CURRENT].limit_of("acid solubility", material, size)
        return None if found is None else found.most

    sand = {size: limit(Material.SAND, size) for size in EDITIONS[CURRENT].stack}

    assert {size for size, limit in sand.items() if limit == 3.0} == {"40/60", "40/70", "70/140"}
    assert set(sand.values()) == {2.0, 3.0}
    assert limit(Material.CERAMIC, "20/40") == limit(Material.RESIN_COATED, "40/70") == 7.0
    assert limit(Material.SAND, "50/140") is None  # a size that the standard does not name


def test_a_loss_on_its_limit_passes():
    # from memory: ISO 13503-2:2006 clause 8: 2.0 % for 20/40
    assert a_loss("acid solubility", 5.0, 4.9, size="20/40").passes is True
    assert a_loss("acid solubility", 5.0, 4.899, size="20/40").passes is False


@pytest.mark.parametrize("loss_pct", [2.44, 9.62])
def test_loss_on_ignition_has_no_limit(loss_pct):
    # published: North Dakota Geological Survey study of 2018 samples
    found = a_loss("loss on ignition", 10.0, 10.0 * (1 - loss_pct / 100))

    assert found.loss_pct == pytest.approx(loss_pct)
    assert found.passes is None


def test_moisture_is_a_share_of_the_dry_mass():
    # from memory: ASTM D2216 and C566
    assert a_loss("moisture", 103.0, 100.0).loss_pct == pytest.approx(3.0)


def test_a_gain_is_a_loss_below_zero():
    assert a_loss("loss on ignition", 10.0, 10.1).loss_pct == pytest.approx(-1.0)


@pytest.mark.parametrize("name", TESTS)
@pytest.mark.parametrize(("before_g", "after_g"), [(0.0, 0.0), (math.nan, 1.0), (1.0, math.inf)])
def test_masses_that_make_no_loss_are_refused(name, before_g, after_g):
    with pytest.raises(InputError, match="expected a mass above zero"):
        a_loss(name, before_g, after_g)


@pytest.mark.parametrize(
    ("name", "before_g", "after_g"), [("moisture", 12, 0), ("wash loss", 0, 9)]
)
def test_masses_that_are_refused_are_told_as_they_were_weighed(name, before_g, after_g):
    with pytest.raises(InputError, match=f"^{before_g} g before, {after_g} g after: expected"):
        a_loss(name, before_g, after_g)
