"""Parts of a run that were kept beside the database go into it once, in their order."""

from dataclasses import replace

import pytest

from ramphold.core import EndRun, RunPlan, RunState, Tracker
from ramphold.errors import WireError
from ramphold.store.run_parts import begin_once, take_in
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire.run_part import Counts, RunBegun, RunPart
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)
BEGUN = RunBegun(run=1, specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=12)


def two_parts():
    """The start of a run, and its end."""
    tracker, readings = Tracker(PLAN, t_ns=0), drawn(GOOD_RUN, per_s=1)[:30]
    events = [event for one in readings for event in tracker.feed(one)]
    end_ns = 50_000_000_000
    more = tracker.command(EndRun(reason="enough"), end_ns)
    return (
        RunPart(begun=BEGUN, first=Counts(), readings=readings, events=events),
        RunPart(
            begun=BEGUN, first=Counts(30, 0, len(events)), events=more,
            commands=[(30, end_ns, EndRun(reason="enough"))], ended=(tracker.assess(), 99),
        ),
    )  # fmt: skip


FIRST, LAST = two_parts()


@pytest.fixture(autouse=True)
def specimen(store):
    add_specimen(store)


def all_of(store):
    return store.runs.readings(1), store.runs.commands(1), store.runs.events(1)


def test_the_parts_of_a_run_give_the_whole_run(store):
    take_in(store.runs, FIRST)
    live = store.runs.one(1)
    assert (live.operator, live.plan, live.started_utc_ns) == ("KL", PLAN, 12)
    assert store.runs.counts(1) == (30, 0, len(FIRST.events))
    assert store.runs.live() == live
    take_in(store.runs, LAST)
    assert all_of(store) == (FIRST.readings, LAST.commands, [*FIRST.events, *LAST.events])
    ended = store.runs.one(1)
    assert (ended.ended_utc_ns, ended.assessment) == (99, LAST.ended[0])
    assert store.runs.live() is None


def test_a_part_that_is_there_already_changes_nothing(store):
    for part in (FIRST, FIRST, LAST, LAST, FIRST):
        take_in(store.runs, part)
    assert all_of(store) == (FIRST.readings, LAST.commands, [*FIRST.events, *LAST.events])


def test_of_a_part_that_is_there_in_part_the_rest_is_added(store):
    take_in(store.runs, replace(FIRST, readings=FIRST.readings[:10], events=FIRST.events[:1]))
    take_in(store.runs, FIRST)
    take_in(store.runs, LAST)
    assert all_of(store) == (FIRST.readings, LAST.commands, [*FIRST.events, *LAST.events])


def test_a_part_that_does_not_follow_what_is_there_is_refused(store):
    with pytest.raises(WireError, match="run 1 has 0 readings, and these follow 30"):
        take_in(store.runs, LAST)


@pytest.mark.parametrize("fields", [{"t_ns": 1}, {"utc_ns": 13}])
def test_a_part_of_another_run_of_that_number_is_refused(store, fields):
    take_in(store.runs, FIRST)
    with pytest.raises(WireError, match="run 1 of this database began at another time"):
        take_in(store.runs, replace(LAST, begun=replace(BEGUN, **fields)))


def test_readings_that_an_ended_run_has_not_are_refused(store):
    take_in(store.runs, FIRST)
    take_in(store.runs, LAST)
    more = RunPart(begun=BEGUN, first=Counts(30, 1, 0), readings=FIRST.readings[:3])
    with pytest.raises(WireError, match="run 1 has ended without these 3 readings"):
        take_in(store.runs, more)


def test_a_run_that_a_dead_daemon_left_live_is_interrupted_by_the_next(store):
    take_in(store.runs, FIRST)
    begin_once(store.runs, replace(BEGUN, run=2, t_ns=99_000_000_000))
    begin_once(store.runs, replace(BEGUN, run=2, t_ns=99_000_000_000))
    assert store.runs.one(1).state is RunState.INTERRUPTED
    assert store.runs.live().id == store.runs.newest() == 2
