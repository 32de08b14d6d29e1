"""What the openings of two sieves do to the fines, against ASTM E11 and sums done by hand."""

import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.budgets import fines_budget
from ramphold.method.editions import find_size
from ramphold.method.limits import MOST_BLANK_PCT
from ramphold.method.sieve_openings import (
    blank_finding,
    check_opening,
    grading_pct_mm,
    known_opening,
    pair_components,
    tolerance_mm,
    within_tolerance,
)
from ramphold.method.sieves import OPENINGS_MM
from ramphold.method.uncertainty import Component, combine, of_mean
from ramphold.method.whole_grains import amounts_by_openings

SIZE = find_size("20/40")
# Net mass in g on each sieve: 25 % of what is in size lies between No. 35 and No. 40.
MASSES = {16: 0.0, 20: 2.0, 25: 20.0, 30: 27.0, 35: 28.0, 40: 25.0, 50: 1.0, 0: 0.1}


def parts(cut, after, **given):
    return {
        one.name: one
        for one in pair_components(
            cut, after, grading_pct_mm=grading_pct_mm(SIZE, MASSES), **({"fines_pct": 10.0} | given)
        )
    }


@pytest.mark.parametrize(("sieve", "um"), [(20, 29.1), (40, 15.5), (70, 8.7), (140, 5.2)])
def test_tolerances_are_those_of_astm_e11(sieve, um):
    # ASTM E11 Table 1, as the open reference library `fluids` transcribes it.
    assert tolerance_mm(sieve) == pytest.approx(um / 1000)


def test_tolerances_follow_the_formula_of_iso_3310():
    # ISO 3310-1: Y = w^0.98 / 27 + 1.6, w in um; from memory. ASTM E11 Table 1 rounds it to
    # whole um above No. 20, and to 0.1 um from there on.
    for sieve, opening_mm in OPENINGS_MM.items():
        expected_um = (1000 * opening_mm) ** 0.98 / 27 + 1.6
        digits = 0 if opening_mm >= 1 else 1
        assert 1000 * tolerance_mm(sieve) == pytest.approx(round(expected_um, digits), rel=1e-9)


def test_a_sieve_wider_by_5_or_10_um_lets_1_7_or_3_3_percent_of_whole_grains_through():
    # By hand: 25 % of the charge in the 75 um between No. 35 (500 um) and No. 40 (425 um).
    grading = grading_pct_mm(SIZE, MASSES)
    assert grading * 0.005 == pytest.approx(25 / 75 * 5)
    assert grading * 0.010 == pytest.approx(25 / 75 * 10)


def test_a_charge_without_a_sieve_analysis_counts_as_spread_evenly():
    # By hand: 100 % over the 425 um between No. 20 and No. 40.
    assert grading_pct_mm(SIZE, {}) == pytest.approx(100 / 0.425)
    assert grading_pct_mm(SIZE, {0: 3.0, 16: 1.0}) == pytest.approx(100 / 0.425)


def amounts(found):
    (one,) = (one for one in found.values() if one.amounts)
    return one.amounts


def test_two_sieves_of_unknown_opening_pass_nothing_or_what_the_tolerances_of_astm_e11_allow():
    found = parts(known_opening(40), known_opening(40))
    assert list(found) == [
        (
            "whole grains through the sieve after the crush; openings: cut as ASTM E11 allows, "
            "after as ASTM E11 allows"
        ),
        "opening after the crush, on fragments, as ASTM E11 allows",
    ]
    # The difference of two rectangular deviations of 15.5 um is triangular to 31 um, and every um
    # that the second sieve is wider passes a third of a %.
    reference = scipy.stats.triang(0.5, -31 / 3, 62 / 3)
    expected = [max(reference.ppf((i + 0.5) / 40), 0.0) for i in range(40)]
    assert amounts(found) == pytest.approx(expected, abs=1e-9)
    assert amounts(found).count(0.0) == 20


@pytest.mark.parametrize(("half_widths", "apart"), [((3.1, 15.5), 0.0), ((15.5, 1.0), 4.0)])
def test_openings_known_unequally_well_pass_what_draws_of_them_pass(half_widths, apart):
    found = amounts_by_openings(apart, half_widths, 0.3)
    chance = np.random.default_rng(3)
    cut, after = (chance.uniform(-half, half, 400_000) for half in half_widths)
    drawn = np.quantile(0.3 * np.maximum(apart + after - cut, 0), (np.arange(40) + 0.5) / 40)
    assert found == pytest.approx(list(drawn), abs=0.02)


def test_a_known_difference_counts_in_full_whichever_way_it_is():
    wide, narrow = known_opening(40, "B", 0.430, 0.0001), known_opening(40, "A", 0.425, 0.0001)
    # By hand: 5 um at a third of a % a um; in the other direction no whole grain passes.
    assert amounts(parts(narrow, wide)) == pytest.approx([25 / 75 * 5] * 40, abs=0.12)
    assert set(amounts(parts(wide, narrow))) == {0.0}


def test_no_more_whole_grains_pass_than_fines_were_weighed():
    found = parts(known_opening(40), known_opening(40), fines_pct=2.0)
    assert max(amounts(found)) == 2.0
    assert combine(2.0, "%", found.values()).expanded < 2.0 * 1.4  # 2 % and its own scatter


def test_one_sieve_for_both_lets_no_whole_grain_through():
    one = known_opening(40, "A", 0.4312)
    (only,) = parts(one, one).values()
    # Fragments alone: 10 % over 425 um, 6.2 um off and good to 3.1 um.
    assert only.contribution == pytest.approx(10 / 425 * 9.3 / math.sqrt(3))


def test_two_sieves_that_nobody_named_are_not_taken_for_one():
    assert max(amounts(parts(known_opening(40), known_opening(40)))) > 8


def test_a_blank_takes_the_place_of_the_openings_and_more_of_them_say_more():
    one, four = (parts(known_opening(40), known_opening(40), blanks_pct=[0.6] * n) for n in (1, 4))
    assert amounts(one) == amounts(four) == (pytest.approx(0.6),)
    assert one["scatter of the blank, n = 1"].u == pytest.approx(0.15)
    assert four["scatter of the blank, n = 4"].u == pytest.approx(0.075)
    assert combine(10.0, "%", one.values()).u < 0.7


def test_what_passes_of_each_specimen_averages_in_a_mean():
    (single,) = (one for one in parts(known_opening(40), known_opening(40)).values() if one.amounts)
    three = of_mean(single, 3)
    assert (single.share, three.share) == (0.25, pytest.approx(0.25 / math.sqrt(3)))
    assert three.u**2 / single.u**2 == pytest.approx((1 + 0.25**2 / 3) / (1 + 0.25**2))
    other = Component(name="fragments", u=0.1)
    assert of_mean(other, 3) is other


@settings(deadline=None)
@given(st.floats(0.0, 20.0), st.floats(0.41, 0.44), st.floats(0.41, 0.44), st.floats(0.0, 0.004))
def test_no_uncorrected_effect_of_a_blank_is_larger_than_what_the_interval_reaches(
    blank_pct, cut_mm, after_mm, u_mm
):
    cut, after = known_opening(40, "A", cut_mm, u_mm), known_opening(40, "B", after_mm, u_mm)
    pan, charge = combine(4.0, "g", ()), combine(40.0, "g", ())
    found = parts(cut, after, blanks_pct=[blank_pct]).values()
    budget = fines_budget(pan, charge, *found)
    assert budget.expanded >= blank_pct


def test_a_blank_over_its_limit_is_a_finding():
    assert blank_finding(MOST_BLANK_PCT) is None
    assert "0.51 % of an uncrushed charge passes" in blank_finding(0.51)


@pytest.mark.parametrize("sieve", OPENINGS_MM)
def test_a_measured_opening_must_be_that_of_its_number(sieve):
    check_opening(sieve, OPENINGS_MM[sieve])
    neighbours = [mm for number, mm in OPENINGS_MM.items() if number != sieve]
    nearest = min(neighbours, key=lambda mm: abs(mm - OPENINGS_MM[sieve]))
    with pytest.raises(InputError, match=rf"No\. {sieve}$"):
        check_opening(sieve, nearest)


def test_a_worn_sieve_may_be_outside_the_tolerance():
    assert within_tolerance(40, 0.4405)
    assert not within_tolerance(40, 0.4406)
    check_opening(40, 0.4406)


def test_a_sieve_that_is_not_in_the_table_is_refused():
    with pytest.raises(InputError, match=r"no sieve No\. 41"):
        known_opening(41)
