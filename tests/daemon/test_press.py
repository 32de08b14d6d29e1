"""Where readings meet the run: told at once, written once a second, announced after the commit."""

import asyncio
import contextlib
import math
import sqlite3
import threading

import msgspec
import pytest

from ramphold.control.run_methods import (
    END_RUN,
    ON_EVENT,
    ON_SNAPSHOT,
    AcknowledgeParams,
    ChooseStyleParams,
    EndRunParams,
    StartRunParams,
)
from ramphold.control.run_queries import TraceParams
from ramphold.core import RunState, StateChanged, Style, WarningKind, refeed
from ramphold.daemon import _run_writing
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.errors import CommandRefused, InputError, PlanError
from ramphold.sample import ExclusionDecided, PressWarned, RunDecided
from ramphold.testing import ManualClock
from ramphold.testing.runs import drawn
from support.configs import bench_config
from support.per_test import with_opened
from support.specimens import add_specimen

CONFIG = bench_config()
START = StartRunParams(specimen=1, operator="ab", hold_s=5)
QUICK_RUN = [(0, 0), (120, 4000), (126, 4000), (127, 0), (128, 0)]


class Bench:
    """A press service over a real store, and what it told."""

    def __init__(self, store, path):
        self.clock = ManualClock(utc_ns=1_700_000_000 * 10**9)
        self.store = store
        self.path = path
        self.told = []
        self.press = PressService(CONFIG, store, self.clock, self._tell)

    def _tell(self, topic, payload):
        self.told.append((topic, payload))

    def states_told(self):
        events = [payload.event for topic, payload in self.told if topic is ON_EVENT]
        return [event.after for event in events if isinstance(event, StateChanged)]

    def feed(self, corners):
        for reading in drawn(corners):
            self.clock.advance((reading.t_ns - self.clock.now_ns()) / 1e9)
            self.press.take_reading(reading)


@contextlib.asynccontextmanager
async def bench(tmp_path):
    store = await StoreThread.open(tmp_path / "runs.sqlite3")
    try:
        made = Bench(store, tmp_path / "runs.sqlite3")
        await store.run(add_specimen)
        yield made
    finally:
        await store.aclose()


#: Runs a test's coroutine with a bench of its own.
on_bench = with_opened(bench)


@on_bench
async def test_a_run_is_told_as_it_goes_and_its_end_only_after_it_is_written(made):
    started = await made.press.start(START)
    made.feed(QUICK_RUN)
    assert made.states_told() == ["seating", "ramp", "hold", "release"]
    assert made.press.snapshot().snapshot.state is RunState.RELEASE
    await made.press.write()
    assert made.states_told()[-1] == "complete"
    assert made.press.snapshot().snapshot.state is RunState.COMPLETE
    kept = await made.store.run(lambda store: store.runs.one(started.run))
    assert (kept.state, kept.assessment.verdict) == (RunState.COMPLETE, "pass")


@on_bench
async def test_the_verdict_of_a_run_is_told_once_it_is_written_and_until_the_next_begins(made):
    started = await made.press.start(START)
    made.feed(QUICK_RUN)
    assert made.press.snapshot().verdict is None
    await made.press.write()
    told = made.press.snapshot().verdict
    assert (told.run, told.verdict, told.worst) == (started.run, "pass", None)
    await made.press.start(START)
    assert made.press.snapshot().verdict is None


@on_bench
async def test_what_people_decide_of_the_run_is_told_with_its_verdict(made):
    started = await made.press.start(START)
    made.feed(QUICK_RUN)
    await made.press.write()

    def add(what, **fields):
        record = what(operator="MB", utc_ns=0, specimen=1, reason="a spike", **fields)
        made.press.take_records([record])
        told = made.press.snapshot().verdict
        return told.counts, told.decided_by, told.left_out_by

    assert add(RunDecided, run=started.run, counts=True) == (True, "MB", "")
    assert add(RunDecided, run=started.run + 1, counts=False) == (True, "MB", "")
    assert add(ExclusionDecided, excluded=True) == (True, "MB", "MB")
    assert add(ExclusionDecided, excluded=False) == (True, "MB", "")
    assert add(RunDecided, run=started.run, counts=False) == (False, "MB", "")
    await made.press.start(START)
    made.press.take_records([RunDecided(operator="MB", utc_ns=0, specimen=1, run=started.run,
                                        counts=True, reason="")])  # fmt: skip
    assert made.press.snapshot().verdict is None


@on_bench
async def test_a_disk_that_refuses_is_told_with_its_reason_until_it_takes_the_run(made):
    await made.press.start(START)
    made.feed(QUICK_RUN)
    other = sqlite3.connect(made.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    await made.press.write()
    live = made.press.snapshot()
    assert "locked" in live.unwritten
    assert (live.run, live.verdict) == (None, None)
    other.execute("ROLLBACK")
    other.close()
    await made.press.write()
    assert made.press.snapshot().unwritten == ""
    assert made.press.snapshot().verdict.verdict == "pass"


@contextlib.contextmanager
def refusing(made):
    """The database is locked by another program during the block."""
    other = sqlite3.connect(made.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.execute("ROLLBACK")
        other.close()


@on_bench
async def test_a_live_run_is_warned_at_the_first_failed_commit_and_told_when_it_is_written_again(
    made,
):
    started = await made.press.start(START)
    made.feed([(0, 0), (30, 1000)])
    with refusing(made):
        await made.press.write()
        shown = [payload for topic, payload in made.told if topic is ON_SNAPSHOT][-1]
        assert "locked" in shown.unwritten
        assert [one.kind for one in shown.snapshot.warnings] == [WarningKind.NOT_RECORDED]
        made.feed([(30.1, 1003), (31, 1033)])
        await made.press.write()
    await made.press.write()
    (standing,) = made.press.snapshot().snapshot.warnings
    assert not standing.persists
    await made.press.acknowledge(AcknowledgeParams(operator="ab"))
    assert made.press.snapshot().snapshot.warnings == ()
    await made.press.write()
    commands = await made.store.run(lambda store: store.runs.commands(started.run))
    assert [type(one).__name__ for _, _, one in commands] == [
        "NotRecorded",
        "RecordedAgain",
        "Acknowledge",
    ]
    record = await made.store.run(lambda store: store.runs.one(started.run))
    readings = await made.store.run(lambda store: store.runs.readings(started.run))
    events = await made.store.run(lambda store: store.runs.events(started.run))
    assert refeed(record.plan, record.started_t_ns, readings, commands)[1] == events


@on_bench
async def test_the_end_of_a_run_that_cannot_be_written_is_answered_with_the_reason(made):
    await made.press.start(START)
    made.feed([(0, 0), (30, 1000)])
    with refusing(made):
        ended = await made.press.end(EndRunParams(operator="ab", reason="enough"))
        assert ended.state is RunState.STOPPED
        assert "locked by another program" in ended.unwritten
        shown = [payload for topic, payload in made.told if topic is ON_SNAPSHOT][-1]
        assert (shown.run, shown.unwritten) == (None, ended.unwritten)
        assert made.press.live_run is None
        assert "run 1 has ended and is not written yet" in made.press.ending
        with pytest.raises(CommandRefused, match="run 1 has ended and is not written yet"):
            END_RUN.check_run(made.press.live_run, made.press.ending)
        with pytest.raises(CommandRefused, match="run 1 has ended and is not written yet"):
            await made.press.start(START)
    await made.press.write()
    assert made.press.ending == ""
    kept = await made.store.run(lambda store: store.runs.one(1))
    assert kept.state is RunState.STOPPED


@on_bench
async def test_the_end_of_a_run_is_answered_although_the_disk_does_not_answer(made):
    await made.press.start(START)
    free = threading.Event()
    stuck = asyncio.create_task(made.store.run(lambda _: free.wait(20)))
    await asyncio.sleep(0)
    ended = await made.press.end(EndRunParams(operator="ab", reason="enough"))
    assert ended.unwritten == "the disk does not answer"
    free.set()
    await stuck
    await made.press.write()
    assert made.press.ending == ""


@on_bench
async def test_a_run_that_could_not_be_kept_starts_only_with_a_reason_which_is_kept(made):
    with refusing(made):
        with pytest.raises(CommandRefused, match="NOT STARTED: a run could not be kept now"):
            await made.press.start(START)
        assert made.press.live_run is None
        insisted = msgspec.structs.replace(START, anyway="the last of this sand")
        started = await made.press.start(insisted)
        assert (started.run, started.plan.anyway) == (1, "the last of this sand")
        made.feed([(0, 0), (30, 1000)])
        await made.press.write()
    made.feed([(30.1, 1003), (120, 4000), (126, 4000), (127, 0), (128, 0)])
    await made.press.write()
    kept = await made.store.run(lambda store: store.runs.one(1))
    assert (kept.state, kept.plan.anyway) == (RunState.COMPLETE, "the last of this sand")
    assert len(await made.store.run(lambda store: store.runs.readings(1))) > 1000


@on_bench
async def test_a_reason_that_was_not_needed_is_not_kept(made):
    started = await made.press.start(msgspec.structs.replace(START, anyway="for nothing"))
    assert started.plan.anyway == ""


@on_bench
async def test_a_disk_without_room_for_a_run_refuses_its_start(made):
    made.press.starter.look = lambda: None
    made.press.starter.runs_left = 0
    assert "the disk is full" in made.press.snapshot().unkept
    with pytest.raises(CommandRefused, match="has no room for a run: the disk is full"):
        await made.press.start(START)
    started = await made.press.start(msgspec.structs.replace(START, anyway="urgent"))
    assert started.plan.anyway == "urgent"


@on_bench
async def test_every_reading_of_the_run_is_kept_and_gives_its_events_again(made):
    started = await made.press.start(START)
    made.feed(QUICK_RUN)
    await made.press.write()
    readings = await made.store.run(lambda store: store.runs.readings(started.run))
    kept = await made.store.run(lambda store: store.runs.events(started.run))
    record = await made.store.run(lambda store: store.runs.one(started.run))
    commands = await made.store.run(lambda store: store.runs.commands(started.run))
    _, events = refeed(record.plan, record.started_t_ns, readings, commands)
    assert msgspec.json.encode(events) == msgspec.json.encode(kept)
    # Those after the run's end belong to no run.
    assert len(readings) == next(
        count for count, r in enumerate(drawn(QUICK_RUN), 1) if r.t_ns == events[-1].t_ns
    )


@on_bench
async def test_snapshots_are_told_while_the_disk_is_stuck(made):
    await made.press.start(START)
    stuck, free = threading.Event(), threading.Event()

    def block(_):
        stuck.set()
        free.wait(5)

    blocked = asyncio.create_task(made.store.run(block))
    await asyncio.sleep(0)
    stuck.wait(5)
    writing = asyncio.create_task(made.press.write())
    await asyncio.sleep(0)
    made.feed([(0, 0), (30, 1000)])
    snapshots = [payload for topic, payload in made.told if topic is ON_SNAPSHOT]
    assert snapshots[-1].snapshot.stress_psi == pytest.approx(997, abs=1)
    assert made.states_told() == ["seating", "ramp"]
    free.set()
    await asyncio.gather(blocked, writing)


@on_bench
async def test_a_disk_that_hangs_is_told_and_becomes_a_warning_until_it_answers(made):
    await made.press.start(START)
    made.feed([(0, 0), (30, 1000)])
    free = threading.Event()
    blocked = asyncio.create_task(made.store.run(lambda _: free.wait(20)))
    writing = asyncio.create_task(made.press.write())
    await asyncio.sleep(0)
    assert made.press.snapshot().unwritten == ""
    with pytest.MonkeyPatch.context() as patched:
        # As if so much time had passed.
        patched.setattr(_run_writing, "_LATE_S", -1.0)
        assert "the disk hangs" in made.press.snapshot().unwritten
        assert made.press.snapshot().snapshot.warnings == ()
        patched.setattr(_run_writing, "_HANGS_S", -1.0)
        made.press.pass_time(made.clock.now_ns())
    (warned,) = made.press.snapshot().snapshot.warnings
    assert (warned.raised.kind, warned.persists) == (WarningKind.NOT_RECORDED, True)
    free.set()
    await asyncio.gather(blocked, writing)
    live = made.press.snapshot()
    assert live.unwritten == ""
    assert not any(one.persists for one in live.snapshot.warnings)
    assert len(await made.store.run(lambda store: store.runs.readings(live.run))) > 200


@on_bench
async def test_what_could_not_be_written_is_written_later(made):
    started = await made.press.start(START)
    made.feed([(0, 0), (30, 1000)])
    other = sqlite3.connect(made.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    await made.press.write()
    made.feed([(30.1, 1003), (31, 1033)])
    assert await made.store.run(lambda store: store.runs.readings(started.run)) == []
    other.execute("ROLLBACK")
    other.close()
    await made.press.write()
    readings = await made.store.run(lambda store: store.runs.readings(started.run))
    assert [r.t_ns for r in readings] == [
        r.t_ns for r in drawn([(0, 0), (30, 1000)]) + drawn([(30.1, 1003), (31, 1033)])
    ]


@on_bench
async def test_a_write_that_is_cut_short_while_the_store_is_busy_loses_nothing(made):
    started = await made.press.start(START)
    made.feed([(0, 0), (5, 150)])
    free = threading.Event()
    busy = asyncio.create_task(made.store.run(lambda _: free.wait(5)))
    await asyncio.sleep(0)
    # As the daemon ends: who commits once a second is cancelled, then all that waits is written.
    writing = asyncio.create_task(made.press.write())
    for _ in range(5):
        await asyncio.sleep(0)
    writing.cancel()
    await asyncio.wait([writing])
    free.set()
    await busy
    await made.press.write()
    kept = await made.store.run(lambda store: store.runs.readings(started.run))
    assert len(kept) == len(drawn([(0, 0), (5, 150)]))


@on_bench
async def test_a_second_run_is_refused_while_one_is_live(made):
    await made.press.start(START)
    with pytest.raises(CommandRefused, match="run 1 is live"):
        await made.press.start(START)


@on_bench
async def test_the_next_run_can_begin_after_the_first_is_written(made):
    await made.press.start(START)
    ending = asyncio.create_task(made.press.end(EndRunParams(reason="wrong cell", operator="ab")))
    await asyncio.sleep(0)
    await made.press.write()
    ended = await ending
    assert (ended.state, ended.assessment.verdict) == (RunState.STOPPED, "fail")
    assert (await made.press.start(START)).run == 2


@on_bench
async def test_there_is_nothing_to_end_without_a_run(made):
    with pytest.raises(CommandRefused, match="no run is live"):
        await made.press.end(EndRunParams(reason="why not", operator="ab"))


@on_bench
async def test_a_target_over_the_weakest_rating_is_refused_and_named(made):
    with pytest.raises(PlanError, match="rating of the sensor, 40000 lbf"):
        await made.press.start(StartRunParams(specimen=1, operator="ab", target_psi=13_000))


@on_bench
async def test_missing_readings_are_told_when_time_passes(made):
    await made.press.start(START)
    made.feed([(0, 0), (5, 0)])
    made.clock.advance(0.6)
    made.press.pass_time(made.clock.now_ns())
    told = [type(payload.event).__name__ for topic, payload in made.told if topic is ON_EVENT]
    assert told[-2:] == ["ReadingsLost", "WarningRaised"]
    assert made.told[-1][1].snapshot.stale


@on_bench
async def test_an_overload_is_told_at_once_and_stands_until_it_is_acknowledged(made):
    await made.press.start(START)
    made.feed([(0, 0), (100, 3900), (100.5, 4200), (101, 4200), (102, 4000)])
    over = [payload.event for topic, payload in made.told if topic is ON_EVENT][-1]
    kinds = [warning.kind for warning in made.press.snapshot().snapshot.warnings]
    assert "over ceiling" in kinds
    assert over.t_ns < 102_000_000_000
    shown = await made.press.acknowledge(AcknowledgeParams(operator="ab"))
    assert "over ceiling" not in [warning.kind for warning in shown.snapshot.warnings]


@on_bench
async def test_a_latched_warning_outlives_its_run(made):
    await made.press.start(START)
    made.feed([(0, 0), (100, 3900), (100.5, 4200), (101, 4200), (101.5, 4200)])
    ending = asyncio.create_task(made.press.end(EndRunParams(reason="too far", operator="ab")))
    await asyncio.sleep(0)
    await made.press.write()
    await ending
    made.feed([(102, 100), (103, 0), (110, 0)])
    assert [w.kind for w in made.press.snapshot().snapshot.warnings] == ["over ceiling"]
    shown = await made.press.acknowledge(AcknowledgeParams(operator="ab"))
    assert shown.snapshot.warnings == ()


@on_bench
async def test_the_style_can_be_changed_in_mid_run_and_is_kept_with_it(made):
    started = await made.press.start(START)
    made.feed([(0, 0), (30, 1000)])
    shown = await made.press.choose_style(ChooseStyleParams(style=Style.STROKES))
    assert shown.snapshot.style is Style.STROKES
    await made.press.write()
    commands = await made.store.run(lambda store: store.runs.commands(started.run))
    assert [type(command).__name__ for _, _, command in commands] == ["ChooseStyle"]


@on_bench
async def test_the_trace_of_a_run_goes_on_while_it_is_live_and_stays_when_it_is_packed(made):
    started = await made.press.start(START)
    wanted = TraceParams(run=started.run)
    made.feed(QUICK_RUN[:2])
    await made.press.write()
    made.feed([(120.1, 4000), (122, 4000)])
    live = await made.press.trace(wanted)
    assert (live.state, live.load_psi[0][-1][1]) == ("hold", 4000)
    assert live.load_psi[0][-1][0] - live.load_psi[0][0][0] == pytest.approx(122)
    made.feed([(122.1, 4000), (126, 4000), (127, 0), (128, 0)])
    await made.press.write()
    rows = await made.press.trace(wanted)
    assert await made.store.run(lambda store: store.runs.pack()) == (started.run,)
    assert await made.press.trace(wanted) == rows
    assert rows.state == "complete"
    with pytest.raises(InputError, match="there is no run 9"):
        await made.press.trace(TraceParams(run=9))


@on_bench
async def test_a_press_without_a_run_is_warned_of_by_its_rating_and_that_is_recorded(made):
    # The sensor of 40 000 lbf is the weakest: 12 732 psi on pi square inches.
    made.feed([(0, 0), (1, 0), (5, 12_000), (6, 13_000), (7, 13_000), (8, 0), (9, 0)])
    live = made.press.snapshot()
    assert (live.snapshot, live.rating_lbf, live.rating_name) == (None, 40_000, "sensor")
    assert [one.kind for one in live.idle_warnings] == ["over rating", "near rating"]
    assert not any(one.persists for one in live.idle_warnings)
    await made.press.acknowledge(AcknowledgeParams(operator="ab"))
    assert made.press.snapshot().idle_warnings == ()
    with pytest.raises(CommandRefused, match="no warning stands"):
        await made.press.acknowledge(AcknowledgeParams(operator="ab"))
    await made.press.write()
    kept = await made.store.run(lambda store: store.records.of_kind(PressWarned))
    over = [one for one in kept if one.warning == "over rating"]
    assert [(one.happened, one.operator) for one in over] == [
        ("raised", "-"),
        ("acknowledged", "ab"),
        ("cleared", "ab"),
    ]
    assert [one.load_lbf for one in over[1:]] == [pytest.approx(13_000 * math.pi)] * 2
    assert {(one.name, one.limit_lbf) for one in over} == {("sensor", 40_000)}


@on_bench
async def test_what_a_run_follows_is_warned_of_in_the_run_alone(made):
    await made.press.start(START)
    made.feed([(0, 0), (30, 1000), (35, 13_000), (36, 13_000)])
    live = made.press.snapshot()
    assert "over rating" in [one.kind for one in live.snapshot.warnings]
    assert live.idle_warnings == ()
