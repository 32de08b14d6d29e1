import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.crush_class import StressPoint, classify
from ramphold.units import STRESS, parse

THREE = 3


def series(means_pct, n=THREE):
    """Specimens with the given mean fines at each stress, all alike."""
    return [(psi, mean) for psi, mean in means_pct.items() for _ in range(n)]


def test_passing_at_8000_and_failing_at_9000_is_8k():
    # published: JPT, May 2024, doi:10.2118/0524-0036-jpt
    assert classify(series({8000: 9.0, 9000: 11.0})).crush_class == "8K"


def test_9_4_at_9000_and_12_5_at_10000_is_9k():  # common practice, no source
    result = classify(series({9000: 9.4, 10000: 12.5}))

    assert (result.crush_class, result.highest_stress_psi) == ("9K", 9000)
    assert result.findings == ()


@pytest.mark.parametrize("thousands", range(1, 11))
def test_each_thousand_psi_that_passes_is_its_class(thousands):
    # from memory: ISO 13503-2:2006 11.5 table, 1K to 10K
    result = classify(series({1000 * thousands: 9.0, 1000 * (thousands + 1): 11.0}))

    assert result.crush_class == f"{thousands}K"


def test_a_stress_between_two_thousands_is_cut_to_the_lower():
    result = classify(series({4500: 9.0, 5000: 11.0}))

    assert (result.crush_class, result.highest_stress_psi) == ("4K", 4500)


def test_a_stress_converted_from_other_units_counts_as_its_thousand():
    assert classify(series({3999.999_999_999: 9.0, 5000: 11.0})).crush_class == "4K"
    assert classify(series({3999.0: 9.0, 4999.0: 11.0})).crush_class == "3K"


@pytest.mark.parametrize(
    ("fines_pct", "crush_class"),
    [
        pytest.param(10.0, "5K", id="10.0 passes (from memory: ISO 13503-2:2006 11.5)"),
        pytest.param(10.04, "4K", id="10.04 fails, though it rounds to 10.0"),
    ],
)
def test_the_unrounded_mean_decides(fines_pct, crush_class):
    result = classify(series({4000: 5.0, 5000: fines_pct, 6000: 20.0}))

    assert result.crush_class == crush_class


@pytest.mark.parametrize(
    "fines_pct",
    [*itertools.permutations([9.9, 10.0, 10.1]), *itertools.permutations([2.1, 9.8, 18.1])],
)
def test_a_mean_of_exactly_ten_passes_in_whatever_order_it_is_summed(fines_pct):
    specimens = [(4000, value) for value in fines_pct]

    assert classify([*specimens, *series({5000: 20.0})]).crush_class == "4K"


def test_the_points_are_the_stresses_in_order_with_their_spread():
    result = classify([(5000, 9.0), (4000, 4.0), (5000, 11.0), (5000, 10.0)])

    assert result.points == (
        StressPoint(stress_psi=4000, n=1, mean_pct=4.0, sd_pct=None),
        StressPoint(stress_psi=5000, n=3, mean_pct=10.0, sd_pct=1.0),
    )


def test_a_stress_that_passes_above_one_that_fails_does_not_count():
    result = classify(series({4000: 8.0, 5000: 11.0, 6000: 9.0, 7000: 15.0}))

    assert (result.crush_class, result.highest_stress_psi) == ("4K", 4000)
    assert result.findings == ("the fines fall from 11.00 % at 5000 psi to 9.00 % at 6000 psi",)


def test_there_is_no_class_where_the_lowest_stress_already_fails():
    result = classify(series({4000: 10.5, 5000: 15.0}))

    assert (result.crush_class, result.highest_stress_psi) == (None, None)
    assert result.findings == (
        "the lowest stress tested, 4000 psi, already makes more than 10 % fines",
    )


def test_there_is_no_class_under_1000_psi_and_a_finding_says_so():
    result = classify(series({500: 5.0, 1000: 12.0}))

    assert (result.crush_class, result.highest_stress_psi) == (None, 500)
    assert result.findings == ("500 psi passes, but is under 1K",)


def test_where_nothing_fails_the_class_is_only_a_lower_bound():
    result = classify(series({4000: 5.0, 5000: 8.0}))

    assert (result.crush_class, result.highest_stress_psi) == ("5K", 5000)
    assert result.findings == (
        "no stress tested makes more than 10 % fines: the class is only a lower bound",
    )


def test_stresses_over_1000_psi_apart_around_the_limit_are_told():
    assert classify(series({4000: 8.0, 6000: 12.0})).findings == (
        "nothing tested between 4000 and 6000 psi: the class may be higher",
    )


def test_stresses_1000_psi_apart_around_the_limit_are_near_enough_and_1001_are_not():
    assert classify(series({4000: 8.0, 5000: 12.0})).findings == ()
    assert len(classify(series({4000: 8.0, 5001: 12.0})).findings) == 1


# ISO 13503-2:2006 11.5, the table of classes, from memory: each class and its stress in MPa.
CLASSES_MPA = {
    "1K": 6.9, "2K": 13.8, "3K": 20.7, "4K": 27.6, "5K": 34.5,
    "6K": 41.4, "7K": 48.3, "8K": 55.2, "9K": 62.1, "10K": 68.9,
}  # fmt: skip


@pytest.mark.parametrize(("name", "mpa"), CLASSES_MPA.items())
def test_a_stress_of_the_table_in_mpa_has_the_class_of_the_table(name, mpa):
    assert classify(series({parse(f"{mpa} MPa", STRESS): 8.0})).crush_class == name


@pytest.mark.parametrize(("below", "above"), list(itertools.pairwise(CLASSES_MPA.values())))
def test_nothing_is_left_out_between_neighbours_of_that_table(below, above):
    held = series({parse(f"{below} MPa", STRESS): 8.0, parse(f"{above} MPa", STRESS): 12.0})
    assert classify(held).findings == ()


def test_stresses_over_1000_psi_apart_elsewhere_are_not_told():
    assert classify(series({2000: 1.0, 4000: 8.0, 5000: 12.0, 8000: 30.0})).findings == ()


def test_each_stress_with_too_few_specimens_is_told():
    few = [*series({4000: 8.0}, n=2), *series({5000: 12.0}, n=1)]

    assert classify(few).findings == (
        "4000 psi has n = 2: expected 3 specimens or more",
        "5000 psi has n = 1: expected 3 specimens or more",
    )


def test_limit_and_replicates_may_be_another_editions():
    result = classify(series({4000: 13.0, 5000: 15.0}, n=2), limit_pct=14.0, replicates=2)

    assert result.crush_class == "4K"
    assert result.findings == ()


@pytest.mark.parametrize(
    ("specimens", "told"),
    [
        ([], "no specimens"),
        ([(0.0, 5.0)], "a stress of 0 psi"),
        ([(-4000.0, 5.0)], "expected a number above zero"),
        ([(float("nan"), 5.0)], "a stress of nan psi"),
        ([(float("inf"), 5.0)], "a stress of inf psi"),
        ([(4000.0, float("nan"))], "expected at least one number from 0 to 100"),
    ],
)
def test_specimens_that_are_none_are_refused(specimens, told):
    with pytest.raises(InputError, match=told):
        classify(specimens)


# Stresses in steps of 500 psi, fines in tenths of a per cent, so that fractions are exact.
TENTHS = st.lists(st.tuples(st.integers(1, 30), st.integers(80, 120)), min_size=1, max_size=30)


@given(TENTHS)
def test_the_class_is_the_greatest_stress_under_the_lowest_whose_exact_mean_is_over_ten(tenths):
    groups = {}
    for steps, value in tenths:
        groups.setdefault(500 * steps, []).append(Fraction(value, 10))
    failing = [psi for psi, values in groups.items() if sum(values) / len(values) > 10]
    passing = [psi for psi in groups if not failing or psi < min(failing)]
    thousands = max(passing, default=0) // 1000

    result = classify([(500.0 * steps, value / 10) for steps, value in tenths])

    assert result.highest_stress_psi == max(passing, default=None)
    assert result.crush_class == (f"{thousands}K" if thousands else None)
