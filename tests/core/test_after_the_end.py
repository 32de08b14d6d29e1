"""What a run still says after its last reading counted, and what it says of one that goes on."""

import math
from itertools import pairwise

import pytest

from ramphold.core import (
    Acknowledge,
    EndRun,
    HandLearned,
    MassReading,
    MassState,
    NotRecorded,
    RecordedAgain,
    RunPlan,
    RunTakenUp,
    TakeUp,
    TimePassed,
    Tracker,
    WarningCleared,
    WarningKind,
    WarningRaised,
)
from ramphold.core.trace import Trace
from ramphold.errors import PlanError
from ramphold.testing.runs import GOOD_RUN, drawn

S = 1_000_000_000
PLAN = RunPlan(target_psi=4000)


def followed(readings):
    tracker = Tracker(PLAN, t_ns=0)
    return tracker, [event for one in readings for event in tracker.feed(one)]


def test_a_complete_run_says_what_it_taught_once_however_often_it_is_asked():
    tracker, events = followed(drawn(GOOD_RUN))
    assert sum(isinstance(one, HandLearned) for one in events) == 1
    for command in (Acknowledge(), TimePassed(), Acknowledge()):
        assert tracker.command(command, 300 * S) == []


def test_the_load_of_the_last_four_seconds_is_kept_a_second_apart_the_newest_first():
    # 100 psi/s, seen one reading of 0.1 s late.
    ramp = drawn([(0.0, 0.0), (1.0, 0.0), (41.0, 4000.0)])
    tracker, _ = followed(ramp[:305])
    past = tracker.snapshot().past_psi
    assert len(past) == 4
    steps = [before - after for before, after in pairwise(past)]
    assert steps == pytest.approx([100.0] * 3, abs=11)
    # The newest is kept within a second.
    assert 0 <= tracker.snapshot().stress_psi - past[0] <= 110


def test_a_run_that_is_taken_up_again_says_how_long_nothing_was_read():
    tracker, _ = followed(drawn(GOOD_RUN)[:500])
    at_ns = tracker.snapshot().t_ns
    events = tracker.command(TakeUp(), at_ns + 7 * S)
    assert [one.gap_s for one in events if isinstance(one, RunTakenUp)] == [7.0]


def test_what_is_not_recorded_is_warned_of_until_it_is_again_and_somebody_has_seen_it():
    tracker, _ = followed(drawn(GOOD_RUN)[:500])
    at_ns = tracker.snapshot().t_ns
    (raised,) = tracker.command(NotRecorded(reason="the disk is full"), at_ns)
    assert isinstance(raised, WarningRaised)
    assert (raised.kind, raised.name) == (WarningKind.NOT_RECORDED, "database")
    assert tracker.command(RecordedAgain(), at_ns) == []
    assert [one.kind for one in tracker.snapshot().warnings] == [WarningKind.NOT_RECORDED]
    *_, cleared = tracker.command(Acknowledge(), at_ns)
    assert isinstance(cleared, WarningCleared)
    assert tracker.snapshot().warnings == ()


def test_a_load_that_did_not_answer_is_warned_of_no_longer_once_seen_and_the_run_has_ended():
    stuck = drawn([(0, 0), (1, 0), (46, 1500), (60, 1500)])
    tracker, _ = followed(stuck)
    tracker.command(EndRun(reason="the gauge does not move"), tracker.snapshot().t_ns)
    (standing,) = tracker.snapshot().warnings
    assert standing.kind is WarningKind.NO_ANSWER
    tracker.command(Acknowledge(), tracker.snapshot().t_ns)
    for reading in drawn([(60.1, 0), (62, 0), (64, 600), (70, 600)]):
        tracker.feed(reading)
    assert tracker.snapshot().warnings == ()


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize("name", ["contact_psi", "stale_s"])
def test_a_rule_is_a_finite_number_above_zero(name, value):
    with pytest.raises(PlanError, match=f"{name} is {value}: expected a finite number above zero"):
        type(PLAN.rules)(**{name: value})


@pytest.mark.parametrize(
    ("state", "mass_g", "usable"),
    [
        (MassState.STABLE, 0.0, True),
        (MassState.STABLE, None, False),
        (MassState.MOVING, 1.0, False),
    ],
)
def test_a_mass_can_be_taken_at_rest_with_a_value(state, mass_g, usable):
    assert MassReading(t_ns=1, mass_g=mass_g, state=state, line=b"").usable is usable


def test_a_trace_that_is_followed_by_readings_is_that_of_all():
    readings = drawn(GOOD_RUN, per_s=1)
    trace = Trace.of(readings[:20])
    assert trace.followed_by(readings[20:]) == Trace.of(readings)
    assert trace.followed_by([]) is trace
    assert trace != readings[:20]
    assert trace != Trace.of(readings[1:21])
