import pytest

from ramphold.core import EndRun, RunPlan, RunState, StateChanged, Tracker, Verdict, refeed
from ramphold.errors import CommandRefused, InputError, StoreError
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire import encode_record
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)


def begun(store, **changes):
    add_specimen(store)
    values = {"specimen": 1, "operator": "KL", "plan": PLAN, "t_ns": 0, "utc_ns": 5}
    return store.runs.begin(**values | changes)


def test_a_run_that_has_begun_is_live_and_keeps_its_plan(store):
    plan = RunPlan(target_psi=6000, bore_in=1.5, rate_psi_min=1500, hold_s=60)
    run = store.runs.one(begun(store, plan=plan, t_ns=7, utc_ns=8, operator="MN"))
    assert run == store.runs.live()
    assert (run.plan, run.state, run.operator) == (plan, RunState.READY, "MN")
    assert (run.started_t_ns, run.started_utc_ns) == (7, 8)
    assert (run.ended_t_ns, run.ended_utc_ns, run.assessment) == (None, None, None)


def test_a_run_comes_back_as_it_was_followed(store, followed):
    run = begun(store)
    followed.write(store, run)
    kept = store.runs.one(run)
    assert store.runs.readings(run)[99] == followed.all("readings")[99]
    assert [r.line for r in store.runs.readings(run)] == [r.line for r in followed.all("readings")]
    assert store.runs.commands(run) == followed.all("commands")
    assert store.runs.events(run) == followed.all("events")
    assert (kept.state, kept.assessment) == (RunState.COMPLETE, followed.tracker.assess())
    assert (kept.ended_t_ns, kept.ended_utc_ns) == (followed.all("events")[-1].t_ns, 9_000_000_000)
    assert store.runs.live() is None


def test_a_kept_run_fed_again_gives_its_events_to_the_byte_and_its_verdict(store, followed, look):
    run = begun(store)
    followed.write(store, run)
    kept = store.runs.one(run)
    tracker, events = refeed(
        kept.plan, kept.started_t_ns, store.runs.readings(run), store.runs.commands(run)
    )
    bodies = [body.encode() for (body,) in look("SELECT body FROM events ORDER BY seq")]
    assert [encode_record(event) for event in events] == bodies
    assert len(bodies) >= 7
    assert len(store.runs.commands(run)) == 1
    assert encode_record(tracker.assess()) == encode_record(kept.assessment)
    assert kept.assessment.verdict is Verdict.FAIL  # the gap is too long


def test_the_state_of_a_live_run_is_kept_with_each_part(store):
    run = begun(store)
    tracker = Tracker(PLAN, t_ns=0)
    readings = drawn(GOOD_RUN)[:200]
    events = [event for reading in readings for event in tracker.feed(reading)]
    store.runs.append(run, readings=readings, events=events)
    assert tracker.state is RunState.RAMP
    assert (store.runs.one(run).state, store.runs.one(run).reason) == (
        RunState.RAMP,
        [event for event in events if isinstance(event, StateChanged)][-1].reason,
    )


def test_a_part_is_kept_whole_or_not_at_all(store, look):
    run = begun(store)
    readings = drawn(GOOD_RUN)[:10]
    bad = (10, 2**64, EndRun(reason="x"))
    with pytest.raises(StoreError, match="64 bits"):
        store.runs.append(run, readings=readings, commands=[bad])
    assert look("SELECT count(*) FROM readings") == [(0,)]
    store.runs.append(run, readings=readings)
    assert store.runs.readings(run) == readings


def test_parts_are_numbered_on_from_each_other(store, look):
    run = begun(store)
    readings = drawn(GOOD_RUN)[:9]
    for start in (0, 3, 6):
        store.runs.append(run, readings=readings[start : start + 3])
    assert look("SELECT seq FROM readings ORDER BY seq") == [(seq,) for seq in range(9)]
    assert store.runs.readings(run) == readings


def test_a_second_run_is_refused_while_one_is_live(store):
    run = begun(store)
    with pytest.raises(CommandRefused, match=f"run {run} is live: end it first"):
        begun(store)


def test_a_run_of_no_specimen_is_refused(store):
    with pytest.raises(InputError, match="there is no specimen 4"):
        begun(store, specimen=4)


def test_an_unknown_run_is_named(store):
    with pytest.raises(InputError, match="there is no run 12"):
        store.runs.one(12)


def test_an_ended_run_takes_nothing_more(store, followed):
    run = begun(store)
    followed.write(store, run)
    before = store.runs.readings(run)
    with pytest.raises(StoreError, match="rows are only added, and only to a live run"):
        store.runs.append(run, readings=drawn(GOOD_RUN)[:1])
    assert len(store.runs.readings(run)) == len(before)


def test_the_last_part_must_end_the_run_and_only_the_last(store):
    run = begun(store)
    tracker = Tracker(PLAN, t_ns=0)
    ending = tracker.command(EndRun(reason="enough"), 1)
    with pytest.raises(StoreError, match="expected `end`"):
        store.runs.append(run, events=ending)
    with pytest.raises(StoreError, match="expected an event that ends it"):
        store.runs.end(run, events=[], assessment=tracker.assess(), utc_ns=1)
    assert store.runs.live() == store.runs.one(run)
    assert store.runs.events(run) == []


def test_a_run_ends_with_the_last_of_the_changes_that_come_in_one_part(store):
    run = begun(store)
    tracker = Tracker(PLAN, t_ns=0)
    events = [event for reading in drawn(GOOD_RUN) for event in tracker.feed(reading)]
    changed_ns = [one.t_ns for one in events if isinstance(one, StateChanged)]
    assert changed_ns[0] < changed_ns[-1]
    store.runs.end(run, events=events, assessment=tracker.assess(), utc_ns=9)
    assert store.runs.one(run).ended_t_ns == changed_ns[-1]


def test_runs_are_listed_newest_first_in_pages(store):
    add_specimen(store)
    for _ in range(5):
        run = begun(store)
        tracker = Tracker(PLAN, t_ns=0)
        events = tracker.command(EndRun(reason="enough"), 1)
        store.runs.end(run, events=events, assessment=tracker.assess(), utc_ns=1)
    assert [run.id for run in store.runs.page(limit=2)] == [5, 4]
    assert [run.id for run in store.runs.page(before=4, limit=2)] == [3, 2]
    assert [run.id for run in store.runs.of_specimen(1)] == [1, 2, 3, 4, 5]
    assert store.runs.of_specimen(2) == []


def test_a_page_has_fifty_runs_if_nobody_asks_for_another_number(store):
    add_specimen(store)
    for _ in range(51):
        tracker, run = Tracker(PLAN, t_ns=0), begun(store)
        events = tracker.command(EndRun(reason="enough"), 1)
        store.runs.end(run, events=events, assessment=tracker.assess(), utc_ns=1)
    assert len(store.runs.page()) == 50


def test_a_plan_that_was_damaged_in_the_file_is_named_as_such(store, path):
    begun(store)
    db = store._connection.db
    db.execute("DROP TRIGGER runs_update")
    db.execute("UPDATE runs SET plan = '{}'")
    with pytest.raises(StoreError, match=f"{path}: not the record of a plan"):
        store.runs.page()
