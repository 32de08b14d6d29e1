"""A key is enough to pump by: held for a slow squeeze, let go to wait, pressed for a stroke."""

import random

import pytest

from ramphold.core import Reading, RunPlan, RunState, Tracker
from ramphold.sim import Hand, HandHabits, OwnHand, Press, PressParameters

STEP_NS = 50_000_000


def hand_at_press(seed=1):
    rng = random.Random(seed)
    return OwnHand(Hand(rng)), Press(PressParameters().draw(rng), rng)


def travel(own, seconds, *, from_s=0.0, stress_psi=1000.0):
    steps = [round((from_s + step * 0.05) * 1e9) for step in range(1, round(seconds * 20) + 1)]
    return sum(max(own.act(t_ns, stress_psi).travel, 0) for t_ns in steps)


def test_one_press_of_the_key_pulls_for_a_moment_and_then_rests():
    own, _ = hand_at_press()
    own.act(0, 1000.0)
    own.squeeze(0)
    assert 0 < travel(own, 2.0) < 0.15
    assert travel(own, 5.0, from_s=2.0) == 0.0


def test_each_repeat_of_a_held_key_prolongs_the_pull_and_adds_none_beside_it():
    own, _ = hand_at_press()
    own.act(0, 1000.0)
    pulled = 0.0
    for step in range(1, 81):  # four seconds, the key repeating 20 times a second
        own.squeeze(step * STEP_NS)
        pulled += max(own.act(step * STEP_NS, 1000.0).travel, 0)
    assert pulled == pytest.approx(4 * 0.09, rel=0.3)


@pytest.mark.parametrize("share", [0.1, 0.5, 1.0])
def test_a_force_pulls_at_a_pace_that_goes_by_it_as_long_as_it_lasts(share):
    own = OwnHand(Hand(random.Random(1), HandHabits(unevenness=0.0, slowest_per_s=0.002)))
    own.act(0, 1000.0)
    own.push(share)
    # A tenth of a stroke a second at full force.
    assert travel(own, 8.0) == pytest.approx(0.8 * share, abs=0.02)
    own.push(0.0)
    assert travel(own, 3.0, from_s=8.0) == 0.0


def test_a_force_closes_the_valve_and_a_force_of_none_does_not():
    own, _ = hand_at_press()
    own.act(0, 0.0)
    own.release()
    own.push(0.0)
    assert own.act(STEP_NS, 0.0).valve_open
    own.push(0.3)
    assert not own.act(2 * STEP_NS, 0.0).valve_open


def test_a_stroke_goes_down_once_and_brings_the_lever_back_up():
    own, _ = hand_at_press()
    own.act(0, 1000.0)
    own.stroke(1.0)
    own.stroke(1.0)  # a second press meanwhile is no second stroke
    moves = [own.act(step * STEP_NS, 1000.0).travel for step in range(1, 101)]
    assert sum(move for move in moves if move > 0) == pytest.approx(1.0)
    assert sum(moves) == pytest.approx(0.0, abs=1e-9)


def test_the_valve_stays_open_until_the_lever_is_pulled_again():
    own, _ = hand_at_press()
    own.act(0, 0.0)
    own.release()
    assert own.act(STEP_NS, 0.0).valve_open
    assert own.act(20 * STEP_NS, 0.0).valve_open
    own.squeeze(20 * STEP_NS)
    assert not own.act(21 * STEP_NS, 0.0).valve_open


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1, 5))
def test_a_thumb_that_holds_the_key_while_the_load_is_behind_the_line_gets_a_run_that_passes(seed):
    own, press = hand_at_press(seed)
    tracker, force_lbf, snapshot = Tracker(RunPlan(target_psi=4000.0), t_ns=0), 0.0, None
    for t_ns in range(STEP_NS, 600 * 10**9, STEP_NS):
        if snapshot is None or snapshot.line_psi is None:
            own.squeeze(t_ns)
        elif snapshot.state is RunState.RELEASE:
            own.release()
        elif snapshot.stress_psi < min(snapshot.line_psi, 4000.0) - 20:
            own.squeeze(t_ns)
        force_lbf = press.step(t_ns, own.act(t_ns, press.stress_psi))
        tracker.feed(Reading(t_ns=t_ns, force_lbf=force_lbf))
        snapshot = tracker.snapshot()
        if tracker.ended:
            break
    assessment = tracker.assess()
    assert (tracker.state, assessment.verdict) == (RunState.COMPLETE, "pass")
