"""When the lever should go back: before it is spent, and where that costs least.

The shares of the travel are our own: from a study of the pacing, no source.
"""

import pytest

from ramphold.core import RunPlan, RunState
from ramphold.core._lever import LeverUse
from ramphold.core._situation import Situation

S = 1_000_000_000
GAIN_PSI = 500.0
PLAN = RunPlan(target_psi=4000.0)


def now(t_s, psi, state=RunState.RAMP, speed_psi_s=0.0):
    return Situation(
        plan=PLAN, ceiling_psi=4080.0, rate_psi_s=2000 / 60, t_ns=round(t_s * S), lag_s=0.1,
        since_last_s=0.1, period_s=0.1, stress_psi=psi, speed_psi_s=speed_psi_s,
        slow_psi_s=speed_psi_s, speed_noise_psi_s=0.0, state=state, ramp=None, to_go_s=None,
        rising_since_ns=None, gains=False,
    )  # fmt: skip


class Pull:
    """A lever that is followed over a load; the aim is far unless told otherwise."""

    def __init__(self):
        self.use = LeverUse()
        self.t_s = 0.0
        self.psi = 0.0

    def to(self, psi, *, after_s=1.0, short_psi=3000.0, pulling=True, noise_psi=0.0, **at):
        self.t_s, self.psi = self.t_s + after_s, psi
        return self.use.follow(
            now(self.t_s, psi, **at), GAIN_PSI, noise_psi, short_psi=short_psi, pulling=pulling
        )


def test_what_was_gained_is_counted_in_full_strokes():
    pull = Pull()
    for psi in (100.0, 200.0, 250.0):
        assert not pull.to(psi, after_s=0.4)
    assert pull.use.used == pytest.approx(0.5)
    # What the load lost meanwhile is pulled again.
    assert not pull.to(225.0, after_s=0.4)
    assert not pull.to(275.0, after_s=0.3)
    assert pull.use.used == pytest.approx(0.6)


def test_a_gain_that_noise_may_look_like_is_none():
    pull = Pull()
    assert not pull.to(4.9)
    assert pull.use.used == 0
    pull.to(39.0, noise_psi=10.0)
    assert pull.use.used == 0
    pull.to(41.0, noise_psi=10.0)
    assert pull.use.used == pytest.approx(0.082)


def test_a_lever_that_is_nearly_spent_is_said_to_be_and_a_spent_one_goes_back():
    pull = Pull()
    said = [(pull.to(psi), pull.use.nearly_spent) for psi in (390.0, 405.0, 445.0, 455.0)]
    assert said == [(False, False), (False, True), (False, True), (True, False)]


def test_the_word_stands_for_a_moment_and_then_the_lever_counts_as_back():
    pull = Pull()
    assert pull.to(460.0)
    assert pull.to(460.0, after_s=0.5)
    assert not pull.to(460.0, after_s=0.2)
    assert pull.use.used == 0
    assert not pull.to(470.0)
    assert pull.use.used == pytest.approx(0.02)


def test_while_seating_it_goes_back_once():
    pull = Pull()
    assert pull.to(10.0, state=RunState.SEATING)
    assert pull.to(10.0, after_s=0.5, state=RunState.SEATING)
    assert not pull.to(10.0, after_s=0.2, state=RunState.SEATING)
    assert not pull.to(20.0, state=RunState.SEATING)


@pytest.mark.parametrize(("used_psi", "goes_back"), [(140.0, False), (160.0, True)])
def test_shortly_before_the_aim_a_third_of_the_travel_is_enough_to_go_back_and_once(
    used_psi, goes_back
):
    pull = Pull()
    pull.to(used_psi, short_psi=200.0)
    # A third of a stroke is left to the aim.
    assert pull.to(used_psi, after_s=0.1, short_psi=170.0) is goes_back
    if not goes_back:
        assert not pull.to(used_psi + 100, after_s=0.1, short_psi=100.0)


@pytest.mark.parametrize(
    ("used_psi", "speed_psi_s", "goes_back"),
    [
        (310.0, -2.0, True),
        (310.0, 0.0, True),  # a coarse instrument shows a load that stands still
        (310.0, 0.1, False),
        (290.0, -2.0, False),
    ],
)
def test_at_rest_it_goes_back_if_over_half_is_used_and_the_load_does_not_rise(
    used_psi, speed_psi_s, goes_back
):
    pull = Pull()
    pull.to(used_psi)
    rest = {"after_s": 0.1, "pulling": False, "state": RunState.HOLD, "speed_psi_s": speed_psi_s}
    assert pull.to(used_psi, **rest) is goes_back


def test_a_pause_is_the_likelier_a_return_the_more_was_used():
    odds = []
    for psi in (100.0, 250.0, 300.0, 350.0, 440.0):
        pull = Pull()
        pull.to(psi)
        odds.append(pull.use.likely_returned)
    assert odds == sorted(odds)
    assert odds[2] == pytest.approx(0.5)  # at three fifths it is as likely as not
    assert (odds[0] < 0.05, odds[-1] > 0.9) == (True, True)


def test_after_a_pause_as_much_counts_as_used_as_is_likely():
    pull = Pull()
    pull.to(300.0)
    pull.to(300.0, after_s=0.7)
    assert pull.use.used == pytest.approx(0.6)
    pull.to(300.0, after_s=0.1)
    assert pull.use.used == pytest.approx(0.3)
    # A pause counts once, however long it is.
    pull.to(300.0, after_s=5.0)
    assert pull.use.used == pytest.approx(0.3)
    assert pull.use.likely_returned == pytest.approx(0.5)
    pull.to(350.0)
    assert pull.use.likely_returned < 0.2
