"""What the openings leave of the shares of a sieve analysis, by hand and by moving the openings."""

import math

import pytest

from ramphold.method.sieves import find_size
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
