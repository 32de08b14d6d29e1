"""What can be paced by an instrument that reads seldom, and what by a noisy one on any bore."""

import math
import random

import pytest

from ramphold.core import CueGiven, Reading, RunPlan, RunState, Style, Tracker

S = 1_000_000_000
R = 2000 / 60


def follow(plan, per_s, lasting_s, noise_lbf=0.0):
    """A load that keeps exactly to its line and to its target; the tracker after it."""
    rng = random.Random(1)
    tracker, events = Tracker(plan, t_ns=0), []
    for i in range(round(lasting_s * per_s)):
        t_s = i / per_s
        psi = min(10 * t_s if t_s < 10 else 100 + R * (t_s - 10), plan.target_psi)
        force_lbf = psi * plan.area_in2 + rng.gauss(0.0, noise_lbf)
        events += tracker.feed(Reading(t_ns=round(t_s * S), force_lbf=force_lbf))
    return tracker, events


@pytest.mark.parametrize("per_s", [1, 2, 3])
def test_fewer_than_four_readings_a_second_give_no_cue_and_say_so_before_contact(per_s):
    plan = RunPlan(target_psi=4000.0)
    before, _ = follow(plan, per_s, 1.9 if per_s > 2 else 6.0)
    assert before.state in (RunState.READY, RunState.SEATING)
    assert before.snapshot().too_slow_per_s == pytest.approx(per_s, rel=0.01)
    tracker, events = follow(plan, per_s, 60.0)
    assert tracker.state is RunState.RAMP
    assert tracker.snapshot().cue is None
    # The first four readings show how often they come.
    cues = [event for event in events if isinstance(event, CueGiven)]
    assert not [cue for cue in cues if cue.t_ns > 4 * S / per_s]


@pytest.mark.parametrize("per_s", [4, 5, 10, 80])
def test_four_and_more_are_followed_and_never_stale(per_s):
    tracker, events = follow(RunPlan(target_psi=4000.0), per_s, 60.0)
    snapshot = tracker.snapshot()
    assert snapshot.too_slow_per_s is None
    assert snapshot.cue is not None
    assert "ReadingsLost" not in {type(event).__name__ for event in events}


@pytest.mark.slow
@pytest.mark.parametrize("bore_in", [1.0, 2.0, 3.0])
@pytest.mark.parametrize("style", Style)
def test_six_pounds_of_noise_change_the_cue_no_oftener_than_a_press_needs(bore_in, style):
    plan = RunPlan(target_psi=4000.0, bore_in=bore_in, style=style)
    arrives_s = 10 + 3900 / R
    tracker, events = follow(plan, 10, arrives_s + 100, noise_lbf=6.0)
    assert tracker.state is RunState.HOLD
    cues = [event.t_ns / S for event in events if isinstance(event, CueGiven)]
    in_hold = [t_s for t_s in cues if t_s > arrives_s + 10]
    assert len(in_hold) / (90 / 60) < 6
    if style is Style.SQUEEZE:
        in_ramp = [t_s for t_s in cues if 15 < t_s < arrives_s - 5]
        # One return of the lever for each few hundred psi, each with a word for it and after it.
        assert len(in_ramp) / ((arrives_s - 20) / 60) < 16
    assert math.isfinite(tracker.snapshot().stress_psi)
