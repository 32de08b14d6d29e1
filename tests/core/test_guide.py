"""What the guide learns of a hand that can't be shown as far a distance as its pace would take."""

import pytest

from ramphold.core import PacingStart
from ramphold.core._guide import Guide

S = 1_000_000_000
EVEN = 2000 / 60
TENTHS = 200


def follow(asked_pace):
    """A hand that is just as assumed follows what is shown, and moves the load at once."""
    start = PacingStart(base_pace=-0.6, follow_per_s=0.5)
    guide = Guide(EVEN, start)
    for tenth in range(TENTHS):
        distance_psi = guide.distance_psi(asked_pace * EVEN)
        speed_psi_s = start.base_pace * EVEN + start.follow_per_s * distance_psi
        guide.show(tenth * S // 10, distance_psi, speed_psi_s)
        guide.learn(tenth * S // 10, speed_psi_s, 0.4, 0.1, 0.0)
    return guide


@pytest.mark.parametrize("asked_pace", [0.5, 1.0, 1.5, 3.0, 6.0])
def test_a_hand_that_does_what_it_is_shown_is_not_taken_for_a_slower_one(asked_pace):
    guide = follow(asked_pace)
    assert guide.base_pace == pytest.approx(-0.6, abs=0.02)
    assert guide.gain_per_s == pytest.approx(0.5, abs=0.02)
