"""What the openings leave of the shares of a sieve analysis, by hand and by moving the openings."""

import math

import pytest

from ramphold.method.editions import CURRENT, EDITIONS, find_size
from ramphold.method.sieve_openings import known_opening
from ramphold.method.sieving import analyse
from ramphold.method.sieving_budget import share_budgets

SIZE = find_size("20/40")
# Evenly spread: 1 g for each 10 um from 1.18 mm (No. 16) down to 0.3 mm (No. 50).
EVEN = {16: 0.0, 20: 33.0, 25: 14.0, 30: 11.0, 35: 10.0, 40: 7.5, 50: 12.5, 0: 0.0}


def test_a_share_moves_with_an_opening_by_the_grading_there():
    in_size, top, pan = share_budgets(EVEN, SIZE, step_g=0.0)
    total = sum(EVEN.values())
    # By hand: 0.1 g/um at both ends; E11 allows 29.1 um at No. 20 and 15.5 um at No. 40.
    by_hand = math.hypot(*(100 * 0.1 * um / math.sqrt(3) / total for um in (29.1, 15.5)))
    assert in_size.u == pytest.approx(by_hand, rel=1e-9)
    assert in_size.value == pytest.approx(100 * 42.5 / total)
    assert top.u > 0
    assert pan.value == 0


def test_empty_ends_of_a_stack_are_certain_but_for_the_balance():
    masses = {16: 0.0, 20: 0.0, 25: 20.0, 30: 40.0, 35: 30.0, 40: 10.0, 50: 0.0, 0: 0.0}
    _, top, pan = share_budgets(masses, SIZE, step_g=0.01)
    # A step of 0.01 g of 100 g, rectangular: 0.0029 %.
    assert top.u == pytest.approx(0.01 / math.sqrt(12), rel=1e-9)
    assert pan.u == pytest.approx(0.01 / math.sqrt(12), rel=1e-9)


def test_a_measured_opening_counts_by_how_far_it_is_off_and_how_well_it_is_known():
    openings = {
        20: known_opening(20, "20-A", 0.856, 0.001),  # 6 um off, u of 1 um
        40: known_opening(40, "40-A", 0.425, 0.0005),
    }
    in_size, _, _ = share_budgets(EVEN, SIZE, step_g=0.0, openings=openings)
    total = sum(EVEN.values())
    # By hand, 0.1 g/um: a bound of the offset and root 3 of the u, rectangular.
    bounds_um = (6 + math.sqrt(3) * 1.0, math.sqrt(3) * 0.5)
    by_hand = math.hypot(*(100 * 0.1 * um / math.sqrt(3) / total for um in bounds_um))
    assert in_size.u == pytest.approx(by_hand, rel=1e-9)
    assert [one.name for one in in_size.components] == [
        "opening of No. 20, sieve 20-A, measured",
        "opening of No. 40, sieve 40-A, measured",
    ]


def test_a_sieve_that_nobody_chose_counts_as_it_is_allowed_beside_measured_ones():
    one = share_budgets(EVEN, SIZE, step_g=0.0, openings={20: known_opening(20, "A", 0.85, 0.0)})[0]
    total = sum(EVEN.values())
    # Nothing is left of No. 20; E11 allows 15.5 um at No. 40.
    assert one.u == pytest.approx(100 * 0.1 * 15.5 / math.sqrt(3) / total, rel=1e-9)


def test_a_pan_that_holds_nothing_needs_no_mass_of_its_own():
    with_it, without = EVEN, {sieve: mass_g for sieve, mass_g in EVEN.items() if sieve}
    assert share_budgets(without, SIZE, step_g=0.01) == share_budgets(with_it, SIZE, step_g=0.01)


@pytest.mark.parametrize("others", [{}, {12: 0.3}, {100: 1.9}, {12: 0.3, 45: 2.0, 100: 1.9}])
def test_the_shares_are_those_that_the_analysis_judges_whatever_sieves_were_used(others):
    masses = {16: 0.0, 20: 2.0, 25: 30.0, 30: 40.0, 35: 20.0, 40: 5.0, 50: 1.0, 0: 0.1} | others
    analysis = analyse(masses, SIZE, allowed=EDITIONS[CURRENT].sieving["fracturing"])
    found = [one.value for one in share_budgets(masses, SIZE, step_g=0.01)]
    assert found == [analysis.in_size_pct, analysis.oversize_pct, analysis.undersize_pct]
