"""What the database refuses of a run lies in the second place, and is taken in later, once."""

import asyncio
import contextlib
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.control.run_methods import StartRunParams
from ramphold.core import RunPlan, RunState, refeed
from ramphold.daemon._live_run import LiveRun
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.daemon.tail_folder import TailFolder, second_place
from ramphold.store import Store
from ramphold.testing import ManualClock
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire.run_part import RunBegun, RunPart, decode_parts, encode_part
from support.configs import bench_config
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)
BEGUN = RunBegun(run=1, specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=5)


@contextlib.contextmanager
def locked(path):
    """Another program writes into the database, so that ours can't."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


def followed(readings, begun=BEGUN, **options):
    run = LiveRun(begun, **options)
    for reading in readings:
        if not run.tracker.ended:
            run.feed(reading)
    return run


def begun_store(path):
    store = Store.open(path)
    add_specimen(store)
    store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=5)
    return store


def take_in_only(path, tails):
    """As a daemon that starts, and leaves the live run alone."""
    with Store.open(path, lambda store: tails.take_in(store) or ()) as store:
        return (
            store.runs.one(1),
            store.runs.readings(1),
            store.runs.commands(1),
            store.runs.events(1),
        )


@settings(deadline=None, max_examples=5)
@given(st.lists(st.integers(0, 1500), max_size=4), st.integers(0, 1500), st.booleans())
def test_any_division_of_a_run_between_database_and_tail_gives_the_whole_run(
    tmp_path_factory, cuts, committed, again
):
    """Also where the daemon died after the tail was taken in, and before it was gone."""
    folder = tmp_path_factory.mktemp("tail")
    path, tails = folder / "runs.sqlite3", TailFolder(folder, folder / "runs.sqlite3")
    readings = drawn(GOOD_RUN)
    run = LiveRun(BEGUN)
    with begun_store(path) as store:
        for index, reading in enumerate(readings):
            if index == committed:
                part = run.take_unwritten()
                store.runs.append(
                    1, readings=part.readings, commands=part.commands, events=part.events
                )
                run.wrote(part)
            elif index > committed and index in cuts:
                assert tails.keep(run, run.unwritten, 9) is not None
            if not run.tracker.ended:
                run.feed(reading)
        tails.keep(run, run.unwritten, 9)
    (file,) = folder.glob("*.tail")
    text = file.read_bytes()
    kept = take_in_only(path, TailFolder(folder, path))
    assert not list(folder.glob("*.tail"))
    if again:
        file.write_bytes(text)
        assert take_in_only(path, TailFolder(folder, path)) == kept
    record, readings, commands, events = kept
    assert (record.state, record.ended_utc_ns) == (RunState.COMPLETE, 9)
    assert record.assessment == run.tracker.assess()
    assert refeed(PLAN, 0, readings, commands)[1] == events
    assert len(readings) == run.written.plus(run.unwritten.count).readings


def test_a_run_whose_start_the_database_refused_is_kept_from_its_tail(tmp_path):
    path = tmp_path / "runs.sqlite3"
    with Store.open(path) as store:
        add_specimen(store)
    tails = TailFolder(tmp_path, path)
    run = followed(drawn(GOOD_RUN)[:500], stored=False)
    tails.keep(run, run.unwritten, 9)
    record, readings, *_ = take_in_only(path, TailFolder(tmp_path, path))
    assert (record.id, record.operator, record.started_utc_ns) == (1, "KL", 5)
    assert len(readings) == 500


@pytest.mark.parametrize("cut", [1, 40, 300])
def test_a_tail_whose_last_line_was_cut_gives_all_before_it(tmp_path, cut):
    path, tails = tmp_path / "runs.sqlite3", TailFolder(tmp_path, tmp_path / "runs.sqlite3")
    begun_store(path).close()
    run, readings = LiveRun(BEGUN), drawn(GOOD_RUN)
    for part in (readings[:100], readings[100:300]):
        for reading in part:
            run.feed(reading)
        file = tails.keep(run, run.unwritten, 9)
    file.write_bytes(file.read_bytes()[:-cut])
    assert len(take_in_only(path, TailFolder(tmp_path, path))[1]) == 100


@pytest.mark.parametrize(
    "begun",
    [
        RunBegun(run=1, specimen=1, operator="KL", plan=PLAN, t_ns=7, utc_ns=5),
        RunBegun(run=1, specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=6),
    ],
)
def test_the_tail_of_another_run_of_that_number_is_set_aside(tmp_path, begun, caplog):
    path, tails = tmp_path / "runs.sqlite3", TailFolder(tmp_path, tmp_path / "runs.sqlite3")
    begun_store(path).close()
    run = followed(drawn(GOOD_RUN)[1:200], begun=begun)
    file = tails.keep(run, run.unwritten, 9)
    assert take_in_only(path, TailFolder(tmp_path, path))[1] == []
    assert "began at another time" in caplog.text
    assert file.with_suffix(".refused").exists()
    assert not file.exists()


def test_a_tail_that_does_not_follow_what_the_database_has_is_set_aside(tmp_path, caplog):
    path = tmp_path / "runs.sqlite3"
    begun_store(path).close()
    run = followed(drawn(GOOD_RUN)[:200])
    run.wrote(run.take_unwritten())  # never written, as in a database from before that
    for reading in drawn(GOOD_RUN)[200:300]:
        run.feed(reading)
    TailFolder(tmp_path, path).keep(run, run.unwritten, 9)
    assert take_in_only(path, TailFolder(tmp_path, path))[1] == []
    assert "has 0 readings, and these follow 200" in caplog.text


def test_a_tail_whose_specimen_the_database_lacks_is_set_aside_and_the_database_opens(
    tmp_path, caplog
):
    """As in one that was put back from a copy of the day before."""
    path = tmp_path / "runs.sqlite3"
    begun_store(path).close()
    begun = RunBegun(run=2, specimen=2, operator="KL", plan=PLAN, t_ns=0, utc_ns=9)
    run = followed(drawn(GOOD_RUN)[1:200], begun, stored=False)
    file = TailFolder(tmp_path, path).keep(run, run.unwritten, 9)
    assert take_in_only(path, TailFolder(tmp_path, path))[0].id == 1
    assert "set aside: there is no specimen 2" in caplog.text
    assert file.with_suffix(".refused").exists()


def test_a_run_that_is_started_while_the_tail_of_another_waits_is_kept_beside_it(tmp_path):
    """Both were started anyway, by a daemon and the next one, on a disk that takes nothing."""
    path = tmp_path / "runs.sqlite3"
    with Store.open(path) as store:
        add_specimen(store)
    first = followed(drawn(GOOD_RUN)[:300], stored=False)
    TailFolder(tmp_path, path).keep(first, first.unwritten, 9)

    async def next_daemon():
        store, tails = await StoreThread.open(path), TailFolder(tmp_path, path)
        press = PressService(bench_config(), store, ManualClock(), lambda *_: None, tails=tails)
        with locked(path):
            await press.start(StartRunParams(specimen=1, operator="ab", anyway="sand is in it"))
            for reading in drawn(GOOD_RUN)[1:200]:
                press.take_reading(reading)
            await press.write()
        await store.aclose()

    asyncio.run(next_daemon())
    assert take_in_only(path, TailFolder(tmp_path, path))[1] == drawn(GOOD_RUN)[:300]
    with Store.read(path) as store:
        assert store.runs.readings(2) == drawn(GOOD_RUN)[1:200]


def test_a_tail_of_another_database_is_left_alone(tmp_path):
    run = followed(drawn(GOOD_RUN)[:200])
    file = TailFolder(tmp_path, tmp_path / "other.sqlite3").keep(run, run.unwritten, 9)
    begun_store(tmp_path / "runs.sqlite3").close()
    tails = TailFolder(tmp_path, tmp_path / "runs.sqlite3")
    assert take_in_only(tmp_path / "runs.sqlite3", tails)[1] == []
    assert file.exists()


def test_only_what_is_new_is_added(tmp_path):
    run, tails = followed(drawn(GOOD_RUN)[:200]), TailFolder(tmp_path, tmp_path / "runs.sqlite3")
    file = tails.keep(run, run.unwritten, 9)
    size = file.stat().st_size
    tails.keep(run, run.unwritten, 9)
    assert file.stat().st_size == size
    run.feed(drawn(GOOD_RUN)[200])
    tails.keep(run, run.unwritten, 9)
    first, second = decode_parts(file.read_bytes())[0]
    assert (len(first.readings), len(second.readings)) == (200, 1)
    assert second.first == first.first.plus(
        type(first.first)(200, len(first.commands), len(first.events))
    )


def test_a_second_place_that_refuses_too_is_logged_and_nothing_ends(tmp_path, caplog):
    run = followed(drawn(GOOD_RUN)[:200])
    tails = TailFolder(tmp_path / "gone", tmp_path / "runs.sqlite3")
    assert tails.keep(run, run.unwritten, 9) is None
    assert "can't be written: No such file" in caplog.text
    assert TailFolder(None, tmp_path / "runs.sqlite3").keep(run, run.unwritten, 9) is None


def test_changed_bytes_of_a_tail_are_not_taken_for_readings():
    text = encode_part(RunPart(begun=BEGUN, first=LiveRun(BEGUN).written, readings=drawn(GOOD_RUN)))
    assert len(decode_parts(text + text)[0]) == 2
    assert decode_parts(text.replace(b"KL", b"MB") + text) == ([], 2)


@pytest.mark.parametrize(
    ("configured", "environ", "found"),
    [
        ("", {}, None),
        ("", {"XDG_RUNTIME_DIR": "/run/user/7"}, Path("/run/user/7")),
        ("", {"RUNTIME_DIRECTORY": "/run/a:/run/b", "XDG_RUNTIME_DIR": "/x"}, Path("/run/a")),
        ("/mnt/stick", {"RUNTIME_DIRECTORY": "/run/a"}, Path("/mnt/stick")),
    ],
)
def test_the_second_place_is_the_configured_one_or_that_of_the_service_or_session(
    configured, environ, found
):
    assert second_place(configured, environ) == found


def test_what_waits_when_the_daemon_ends_is_in_the_database_after_the_next_start(tmp_path):
    path = tmp_path / "runs.sqlite3"

    async def body():
        store, clock = await StoreThread.open(path), ManualClock()
        await store.run(add_specimen)
        tails = TailFolder(tmp_path, path)
        press = PressService(bench_config(), store, clock, lambda *_: None, tails=tails)
        await press.start(StartRunParams(specimen=1, operator="ab"))
        with locked(path):
            for reading in drawn(GOOD_RUN)[1:400]:
                press.take_reading(reading)
            await press.write()
        await store.aclose()

    asyncio.run(body())
    _, readings, commands, _ = take_in_only(path, TailFolder(tmp_path, path))
    assert readings == drawn(GOOD_RUN)[1:400]
    assert [type(one).__name__ for _, _, one in commands] == ["NotRecorded"]
