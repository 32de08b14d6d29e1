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


def test_without_anything_shown_the_load_goes_on_as_it_moves():
    assert Guide(EVEN, PacingStart()).asked_psi(S, 0.5, 20.0) == 10.0


def test_what_the_load_gains_is_the_mean_of_what_was_asked_and_of_how_it_moves():
    guide = Guide(EVEN, PacingStart(base_pace=0.5, follow_per_s=1.0))
    guide.show(0, 40.0, 0.0)
    # Asked for at first: half an even pull, and 1 psi/s for each of 40 psi.
    asked_psi_s = 0.5 * EVEN + 40.0
    assert guide.asked_psi(S // 10, 0.5, 20.0) == pytest.approx((asked_psi_s + 20.0) / 2 * 0.5)
    # What was shown before that says nothing of it.
    assert guide.asked_psi(S, 0.5, 20.0) == 10.0


def test_the_distance_is_that_which_this_hand_makes_the_pace_of_and_never_without_end():
    guide = Guide(EVEN, PacingStart(base_pace=0.5, follow_per_s=1.0))
    assert guide.distance_psi(EVEN) == pytest.approx(0.5 * EVEN)
    assert guide.distance_psi(0.5 * EVEN) == pytest.approx(0.0)
    assert guide.distance_psi(1e9) == -guide.distance_psi(-1e9) < 10 * EVEN
    guide.shape = 2.0  # a stroke gains twice as much here
    assert guide.distance_psi(EVEN) == pytest.approx(0.0)


def taught(*, base_pace, gain_per_s, last_s=60):
    """A guide that began with a hand of base 0 and gain 1, and was followed by another."""
    guide = Guide(EVEN, PacingStart(base_pace=0.0, follow_per_s=1.0))
    shown = [0.0] * 4
    for tenth in range(10 * last_s):
        pace = 0.7 if tenth // 25 % 2 else 1.3
        shown.append(guide.distance_psi(pace * EVEN))
        speed_psi_s = base_pace * EVEN + gain_per_s * shown[-5]  # 0.4 s late
        guide.show(tenth * S // 10, shown[-1], speed_psi_s)
        guide.learn(tenth * S // 10, speed_psi_s, 0.4, 0.1, 0.0)
    return guide


@pytest.mark.parametrize("gain_per_s", [0.6, 1.7])
def test_the_gain_of_another_hand_is_learned(gain_per_s):
    found = taught(base_pace=0.0, gain_per_s=gain_per_s).gain_per_s
    assert abs(found - gain_per_s) < 0.5 * abs(1.0 - gain_per_s)


@pytest.mark.parametrize("base_pace", [-0.6, 0.8])
def test_the_base_of_another_hand_is_learned(base_pace):
    found = taught(base_pace=base_pace, gain_per_s=1.0).base_pace
    assert abs(found - base_pace) < 0.3 * abs(base_pace)


def test_what_was_learned_since_the_lever_rested_is_forgotten():
    guide = taught(base_pace=0.8, gain_per_s=1.7)
    before = taught(base_pace=0.8, gain_per_s=1.7, last_s=58)
    guide.interrupt(58 * S)
    assert guide.base_pace == pytest.approx(before.base_pace)
    assert guide.gain_per_s == pytest.approx(before.gain_per_s)
    assert guide.asked_psi(60 * S, 0.5, 20.0) == 10.0
