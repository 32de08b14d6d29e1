"""A run outlives its daemon: taken up within five seconds of one boot, interrupted otherwise."""

import asyncio

import msgspec
import pytest

from ramphold.clock import ClockState
from ramphold.control.run_methods import StartRunParams
from ramphold.core import RunState, RunTakenUp, TakeUp, refeed
from ramphold.daemon._live_run import LiveRun
from ramphold.daemon._recovery import Recovery
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.daemon.tail_folder import TailFolder
from ramphold.store import Store
from ramphold.testing import ManualClock
from ramphold.testing.runs import drawn
from support.configs import bench_config
from support.specimens import add_specimen

BOOT = ClockState(boot="one")
START = StartRunParams(specimen=1, operator="ab", hold_s=5)
WHOLE = drawn([(0, 0), (120, 4000), (126, 4000), (127, 0), (128, 0)])


def clock_of(now_ns=0, known=BOOT, utc_ns=1_790_000_000 * 10**9):
    clock = ManualClock(now_ns=now_ns, utc_ns=utc_ns)
    clock.known = known
    return clock


def dies(path, readings, **clock):
    """A daemon that follows a run and dies after its newest commit."""

    async def body():
        store = await StoreThread.open(path)
        await store.run(add_specimen)
        press = PressService(bench_config(), store, clock_of(**clock), lambda *_: None)
        await press.start(START)
        for reading in readings:
            press.take_reading(reading)
        await press.write()
        await store.aclose()

    asyncio.run(body())


def starts(path, clock, then=()):
    """A new daemon, which is given more readings; its recovery, and the events that it told."""
    told = []

    async def body():
        recovery = Recovery(TailFolder(None, path), clock, lambda: None)
        store = await StoreThread.open(path, recover=recovery)
        press = PressService(
            bench_config(), store, clock, lambda topic, one: told.append((topic.name, one))
        )
        if recovery.taken_up is not None:
            press.take_up(recovery.taken_up)
        for reading in then:
            press.take_reading(reading)
        await press.write()
        await store.aclose()
        return press

    press = asyncio.run(body())
    return press, [one for name, one in told if name == "event"]


def kept(path):
    with Store.open(path) as store:
        run = store.runs.one(1)
        return run, store.runs.readings(1), store.runs.commands(1), store.runs.events(1)


def test_a_run_is_taken_up_where_its_readings_end_and_the_gap_is_declared_and_judged(tmp_path):
    path = tmp_path / "runs.sqlite3"
    dies(path, WHOLE[1:600])
    at = WHOLE[599].t_ns
    later = [one for one in WHOLE if one.t_ns > at + 3 * 10**9]
    press, told = starts(path, clock_of(at + 3 * 10**9), later)
    assert press.taken_up == 1
    run, readings, commands, events = kept(path)
    assert run.state is RunState.COMPLETE
    assert readings[:599] == WHOLE[1:600]
    (taken_up,) = [one for one in events if isinstance(one, RunTakenUp)]
    assert taken_up.gap_s == pytest.approx(3, abs=0.2)
    assert [type(one) for _, _, one in commands].count(TakeUp) == 1
    (gap,) = [one for one in run.assessment.checks if one.name == "longest gap"]
    assert (gap.passed, run.assessment.verdict) == (False, "fail")
    assert gap.value == pytest.approx(3, abs=0.3)
    # As any other run it is its input, and its events follow from that.
    assert refeed(run.plan, run.started_t_ns, readings, commands)[1] == events
    # Who follows the run by its events gets the rest under the next numbers.
    assert [one.seq for one in told] == list(range(told[0].seq, told[0].seq + len(told)))
    assert told[0].seq + len(told) == len(events)
    with Store.open(path) as store:
        assert list(store.audit().findings()) == []


def test_a_gap_within_the_limit_costs_a_run_nothing(tmp_path):
    path = tmp_path / "runs.sqlite3"
    dies(path, WHOLE[1:600])
    at = WHOLE[599].t_ns
    later = [one for one in WHOLE if one.t_ns > at + 0.8e9]
    starts(path, clock_of(at + 700_000_000), later)
    run, *_ = kept(path)
    (gap,) = [one for one in run.assessment.checks if one.name == "longest gap"]
    assert gap.passed is True


@pytest.mark.parametrize(
    ("gap_ns", "known"),
    [
        (5_000_000_001, BOOT),
        (3_000_000_000, ClockState(boot="two")),
        (3_000_000_000, ClockState()),
        (-1, BOOT),
    ],
)
def test_later_or_after_another_boot_a_run_is_interrupted(tmp_path, gap_ns, known):
    path = tmp_path / "runs.sqlite3"
    dies(path, WHOLE[1:600])
    press, _ = starts(path, clock_of(WHOLE[599].t_ns + gap_ns, known))
    assert press.taken_up is None
    assert kept(path)[0].state is RunState.INTERRUPTED


def test_a_calendar_that_was_set_meanwhile_changes_nothing(tmp_path):
    path = tmp_path / "runs.sqlite3"
    dies(path, WHOLE[1:600])
    press, _ = starts(path, clock_of(WHOLE[599].t_ns + 10**9, utc_ns=5))
    assert press.taken_up == 1


def test_a_run_of_a_boot_that_nobody_knows_is_interrupted(tmp_path):
    path = tmp_path / "runs.sqlite3"
    dies(path, WHOLE[1:600], known=ClockState())
    assert starts(path, clock_of(WHOLE[599].t_ns + 10**9))[0].taken_up is None


def test_a_run_whose_events_do_not_follow_from_its_input_is_not_taken_up(tmp_path, monkeypatch):
    path = tmp_path / "runs.sqlite3"
    dies(path, WHOLE[1:600])
    again = LiveRun.again
    monkeypatch.setattr(LiveRun, "again", lambda *given: (again(*given)[0], []))
    assert starts(path, clock_of(WHOLE[599].t_ns + 10**9))[0].taken_up is None
    assert kept(path)[0].state is RunState.INTERRUPTED


def test_a_run_is_taken_up_as_often_as_its_daemon_dies(tmp_path):
    path = tmp_path / "runs.sqlite3"
    dies(path, WHOLE[1:200])
    for first in range(200, 1000, 200):
        starts(path, clock_of(WHOLE[first].t_ns), WHOLE[first + 1 : first + 200])
    _, readings, commands, events = kept(path)
    assert sum(isinstance(one, TakeUp) for _, _, one in commands) == 4
    assert msgspec.json.encode(readings) == msgspec.json.encode(
        [one for at in range(0, 1000, 200) for one in WHOLE[at + 1 : at + 200]]
    )
    assert [one.t_ns for one in events] == sorted(one.t_ns for one in events)
