"""Warnings as a run gives them: from raw readings, in every state, ahead of any filter."""

import math

import pytest

from ramphold.core import (
    Acknowledge,
    EndRun,
    Quality,
    Reading,
    RunPlan,
    RunState,
    Tracker,
    WarningAcknowledged,
    WarningCleared,
    WarningKind,
    WarningRaised,
)
from ramphold.testing.runs import GOOD_RUN, drawn, fed, with_force

MS = 1_000_000
K = WarningKind
PLAN = RunPlan(target_psi=4000.0, rating_lbf=15_000.0, rating_name="press")
GOOD = drawn(GOOD_RUN)
#: How far into the good run each state is well under way, as a count of readings.
UNDER_WAY = {
    RunState.READY: 8,
    RunState.SEATING: 20,
    RunState.RAMP: 600,
    RunState.HOLD: 1800,
    RunState.COMPLETE: 2445,
}


def run_to(state):
    tracker, _ = fed(PLAN, GOOD[: UNDER_WAY[state]])
    assert tracker.state is state
    return tracker


def step(tracker, load_lbf, readings, *, every_ms=100, quality=Quality.GOOD):
    """Warnings raised by so many readings of a load, with their delay after the first in ms.

    But for `near ceiling`, which the cue raises and not the load, and for the jump that a step is.
    """
    start_ns = tracker.snapshot().t_ns + every_ms * MS
    raised = []
    for i in range(readings):
        t_ns = start_ns + i * every_ms * MS
        events = tracker.feed(Reading(t_ns=t_ns, force_lbf=load_lbf, quality=quality))
        raised += [e for e in events if isinstance(e, WarningRaised)]
    raised = [e for e in raised if e.kind not in (K.NEAR_CEILING, K.JUMPED)]
    return [(e.kind, e.name, (e.t_ns - start_ns) // MS) for e in raised]


def latched(tracker):
    return [
        w.kind for w in tracker.snapshot().warnings if w.kind.latched and w.kind is not K.JUMPED
    ]


@pytest.mark.parametrize("state", UNDER_WAY)
def test_a_step_over_the_rating_is_warned_of_at_its_third_raw_reading_in_every_state(state):
    tracker = run_to(state)
    assert step(tracker, 15_100.0, 2) == []
    assert step(tracker, 15_100.0, 1) == [
        (K.OVER_CEILING, "ceiling", 0),
        (K.NEAR_RATING, "press", 0),
        (K.OVER_RATING, "press", 0),
    ]


@pytest.mark.parametrize("state", UNDER_WAY)
@pytest.mark.parametrize("spike_lbf", [15_100.0, 50_000.0, -50_000.0])
def test_a_spike_of_one_or_two_readings_raises_no_limit_in_any_state(state, spike_lbf):
    tracker = run_to(state)
    calm_lbf = GOOD[UNDER_WAY[state]].force_lbf
    raised = step(tracker, spike_lbf, 2)
    raised += step(tracker, calm_lbf, 4)
    raised += step(tracker, spike_lbf, 1)
    raised += step(tracker, calm_lbf, 4)
    assert raised == []


@pytest.mark.parametrize(("every_ms", "most_ms"), [(100, 300), (12.5, 40)])
def test_an_overload_is_warned_of_within_three_tenths_of_a_second_or_forty_milliseconds(
    every_ms, most_ms
):
    tracker = Tracker(PLAN, t_ns=0)
    step(tracker, 12_000.0, 40, every_ms=every_ms)
    # The load crossed just after the last reading, so up to one more period has to be added.
    (first, *_) = step(tracker, 12_900.0, 5, every_ms=every_ms)
    assert first[0] is K.OVER_CEILING
    assert first[2] + every_ms <= most_ms


@pytest.mark.parametrize("name", ["press", "cell", "sensor"])
def test_the_weakest_part_is_named_by_the_warnings_of_the_rating_alone(name):
    plan = RunPlan(target_psi=4000.0, rating_lbf=15_000.0, rating_name=name)
    names = [(kind, part) for kind, part, _ in step(Tracker(plan, t_ns=0), 15_100.0, 3)]
    assert names == [(K.OVER_CEILING, "ceiling"), (K.NEAR_RATING, name), (K.OVER_RATING, name)]


def test_a_load_between_nine_tenths_of_the_rating_and_the_rating_is_near_it_not_over():
    kinds = {kind for kind, _, _ in step(run_to(RunState.HOLD), 14_000.0, 30)}
    assert kinds == {K.OVER_CEILING, K.NEAR_RATING}


def test_a_ceiling_at_the_rating_is_warned_of_as_both():
    plan = RunPlan(target_psi=4000.0, rating_lbf=12_600.0)
    assert plan.ceiling_lbf == 12_600.0
    kinds = [kind for kind, _, _ in step(Tracker(plan, t_ns=0), 12_700.0, 3)]
    assert kinds == [K.OVER_CEILING, K.NEAR_RATING, K.OVER_RATING]


def test_nothing_but_a_person_clears_a_latched_warning_not_the_runs_end_nor_a_gap():
    tracker = run_to(RunState.HOLD)
    step(tracker, 12_900.0, 10)
    tracker.handle_deadline(tracker.snapshot().t_ns + 60_000 * MS)
    assert latched(tracker) == [K.OVER_CEILING]
    tracker.command(EndRun(reason="enough"), tracker.snapshot().t_ns + 61_000 * MS)
    step(tracker, 0.0, 600)
    step(tracker, 0.0, 10, quality=Quality.SATURATED)
    step(tracker, 0.0, 10)
    assert latched(tracker) == [K.OVER_CEILING]
    events = tracker.command(Acknowledge(), tracker.snapshot().t_ns)
    t_ns = tracker.snapshot().t_ns
    assert events == [
        WarningAcknowledged(t_ns=t_ns, kind=K.OVER_CEILING),
        WarningCleared(t_ns=t_ns, kind=K.OVER_CEILING),
    ]
    assert latched(tracker) == []


def test_a_latched_warning_keeps_the_worst_load_and_least_margin_that_was_read():
    tracker = run_to(RunState.HOLD)
    step(tracker, 12_900.0, 3)
    step(tracker, 13_200.0, 3)
    step(tracker, 100.0, 3)
    (standing,) = [w for w in tracker.snapshot().warnings if w.kind is K.OVER_CEILING]
    assert (standing.raised.load_lbf, standing.raised.margin_lbf) == (13_200.0, -400.0)
    assert not standing.persists


def test_missing_readings_are_warned_of_after_half_a_second_and_a_reading_clears_it():
    tracker = run_to(RunState.RAMP)
    last_ns = tracker.snapshot().t_ns
    assert tracker.next_deadline == last_ns + 500 * MS
    tracker.handle_deadline(last_ns + 500 * MS)
    assert [w.kind for w in tracker.snapshot().warnings] == [K.STALE]
    assert tracker.snapshot().cue is None
    tracker.feed(Reading(t_ns=last_ns + 900 * MS, force_lbf=6000.0))
    assert tracker.snapshot().warnings == ()


def test_a_sensor_at_its_end_code_is_warned_of_before_the_load_goes_stale():
    tracker = run_to(RunState.RAMP)
    assert step(tracker, math.nan, 8, quality=Quality.SATURATED) == [
        (K.SATURATED, "sensor", 200),
        (K.STALE, "readings", 400),
    ]


def test_an_indicator_that_calls_a_load_at_rest_or_on_the_way_up_unsteady_warns_of_nothing():
    assert step(run_to(RunState.RAMP), 6200.0, 9, quality=Quality.UNSTEADY) == []
    assert step(run_to(RunState.HOLD), 12_566.0, 9, quality=Quality.UNSTEADY) == []


def test_a_pull_that_runs_for_the_ceiling_is_warned_of_before_it_gets_there():
    # 3800 psi, then a pull at 300 psi/s: no reading is over the ceiling of 4074 psi yet.
    corners = [(0, 0), (1, 0), (115, 3800), (115.8, 4040)]
    _, events = fed(PLAN, drawn(corners))
    (event,) = [e for e in events if isinstance(e, WarningRaised)]
    assert (event.kind, event.name, event.limit_lbf) == (K.NEAR_CEILING, "ceiling", 12_800.0)
    assert event.load_lbf > 12_800.0
    assert event.margin_lbf == pytest.approx(12_800.0 - event.load_lbf)
    assert not event.kind.latched


def test_the_gravest_warning_stands_first():
    tracker = run_to(RunState.HOLD)
    step(tracker, 15_100.0, 5)
    assert latched(tracker) == [K.OVER_RATING, K.NEAR_RATING, K.OVER_CEILING]


def test_a_good_run_with_a_spike_at_its_top_warns_of_nothing():
    readings = with_force(with_force(GOOD, 1205, 40_000.0), 1206, 40_000.0)
    _, events = fed(PLAN, readings)
    assert [e for e in events if isinstance(e, WarningRaised)] == []


@pytest.mark.parametrize("per_s", [10, 80])
@pytest.mark.parametrize("target_psi", [1000.0, 4000.0, 12_000.0])
@pytest.mark.parametrize("halves_in_s", [0.02, 0.1, 0.3])
def test_a_valve_thrown_open_shortly_before_the_hold_is_up_is_a_release_and_no_jump(
    halves_in_s, target_psi, per_s
):
    tracker = Tracker(RunPlan(target_psi=target_psi), t_ns=0)
    # The hold begins at 99 % of the target.
    opened_s = 10 + (0.99 * target_psi - 100) / (2000 / 60) + 119.5
    events = []
    for i in range(round((opened_s + 4) * per_s)):
        t_s = i / per_s
        psi = 10 * t_s if t_s < 10 else min(100 + (t_s - 10) * 2000 / 60, target_psi)
        if t_s > opened_s:
            psi *= 0.5 ** ((t_s - opened_s) / halves_in_s)
        reading = Reading(t_ns=round(t_s * 1e9), force_lbf=psi * tracker.plan.area_in2)
        events += tracker.feed(reading)
    assert K.JUMPED not in {e.kind for e in events if isinstance(e, WarningRaised)}
    assert tracker.ended
    assert next(c for c in tracker.assess().checks if c.name == "jumps of the load").passed
