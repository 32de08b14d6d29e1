"""Finished traces are packed while nobody crushes; what can't be packed stays as it was."""

import asyncio
import logging
import sqlite3

import pytest

from ramphold.core import EndRun, RunPlan, Tracker
from ramphold.daemon._packing import pack_one
from ramphold.daemon._store_thread import StoreThread
from ramphold.testing.runs import GOOD_RUN, drawn
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)


class Idle:
    """As much of a press as says whether a run is live."""

    live = None


class Busy:
    """The same, with one."""

    live = object()


@pytest.fixture
def path(tmp_path):
    return tmp_path / "bench.sqlite3"


def with_ended_run(path, test):
    """Run a test's coroutine with a store that holds an ended run."""

    def crush(store):
        add_specimen(store)
        tracker = Tracker(PLAN, t_ns=0)
        run = store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=1)
        events = tracker.command(EndRun(reason="done"), 5)
        store.runs.end(
            run, readings=drawn(GOOD_RUN, per_s=1), events=events, assessment=tracker.assess(),
            utc_ns=2,
        )  # fmt: skip

    async def body():
        store = await StoreThread.open(path)
        try:
            await store.run(crush)
            await test(store)
        finally:
            await store.aclose()

    asyncio.run(body())


def traces(path):
    other = sqlite3.connect(path)
    found = other.execute("SELECT run FROM traces").fetchall()
    other.close()
    return found


def test_an_ended_run_is_packed_when_none_is_live(path):
    async def test(store):
        await pack_one(Busy(), store)
        assert traces(path) == []
        await pack_one(Idle(), store)
        assert traces(path) == [(1,)]
        await pack_one(Idle(), store)

    with_ended_run(path, test)


def test_a_database_that_another_program_holds_is_packed_later(path, caplog):
    async def test(store):
        await store.run(lambda held: held._connection.db.execute("PRAGMA busy_timeout=1"))
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with caplog.at_level(logging.ERROR):
            await pack_one(Idle(), store)
        other.execute("ROLLBACK")
        other.close()
        assert "was not packed" in caplog.text
        await pack_one(Idle(), store)
        assert traces(path) == [(1,)]

    with_ended_run(path, test)
