"""A daemon killed at any moment leaves a run that can be told apart from a finished one.

The children here are real processes that kill themselves, or are killed, with SIGKILL.
"""

import os
import shutil
import signal
import sqlite3

import pytest

from ramphold.core import RunPlan, RunState, StateChanged, Tracker, refeed
from ramphold.store import Store
from ramphold.store._connection import StoreConnection
from ramphold.store._schema_made import make_schema
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire import encode_record
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)


def in_child(work):
    """Do `work` in a child that never returns here; its process number, and its last words."""
    listen, speak = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(listen)
        try:
            work(lambda part: os.write(speak, bytes([part])))
        finally:
            os._exit(0)
    os.close(speak)
    return child, listen


def heard(listen):
    """All parts that the child had acknowledged before it was gone."""
    with os.fdopen(listen, "rb") as words:
        return len(words.read())


def killed(child):
    _, status = os.waitpid(child, 0)
    return os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL


def killer(statements):
    """What kills its process before that many more statements were begun."""
    left = [statements]

    def count(_sql):
        left[0] -= 1
        if left[0] < 0:
            os.kill(os.getpid(), signal.SIGKILL)

    return count


def written(path, followed, acknowledge, statements=None):
    """Write a whole run; with `statements`, be killed before that many were begun."""
    with Store.open(path) as store:
        if statements is not None:
            store._connection.db.set_trace_callback(killer(statements))
        add_specimen(store)
        run = store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=5)
        acknowledge(0)
        followed.write(store, run, acknowledge)


def made(path, acknowledge, statements):
    """Make a database; be killed before that many statements were begun."""
    connection = StoreConnection(path)
    connection.db.set_trace_callback(killer(statements))
    make_schema(connection)
    acknowledge(0)


def assert_a_moment_of_the_run(path, followed, acknowledged):
    """What a killed child left is its run as it was at some moment, nothing lost, all in order."""
    raw = sqlite3.connect(path)
    assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    raw.close()
    with Store.open(path) as store:
        assert list(store.audit().findings()) == []
        runs = store.runs.page()
        if not runs:
            assert acknowledged == 0
            return
        (run,) = runs
        readings, commands = store.runs.readings(run.id), store.runs.commands(run.id)
        # The part under way when it died may be there whole, though nobody was told.
        moments = [
            followed.parts[:parts] for parts in (max(acknowledged - 1, 0), max(acknowledged, 1))
        ]
        moment = next(m for m in moments if held(m, "readings") == len(readings))
        assert [r.t_ns for r in readings] == [r.t_ns for part in moment for r in part["readings"]]
        _, events = refeed(PLAN, 0, readings, commands)
        ended = len(moment) == len(followed.parts)
        assert (run.state in (RunState.COMPLETE, RunState.STOPPED)) == ended
        assert store.interrupted == (() if ended else (run.id,))
        kept = store.runs.events(run.id) if ended else store.runs.events(run.id)[:-1]
        assert [encode_record(event) for event in events] == [encode_record(e) for e in kept]


def held(parts, name):
    return sum(len(part[name]) for part in parts)


@pytest.mark.slow
def test_killed_at_any_statement_the_run_is_kept_as_it_was_at_some_moment(tmp_path, short):
    fresh = tmp_path / "fresh.sqlite"
    Store.open(fresh).close()
    for statements in range(300):
        path = tmp_path / f"{statements}.sqlite"
        shutil.copy(fresh, path)
        child, listen = in_child(lambda say: written(path, short, say, statements))  # noqa: B023
        acknowledged = heard(listen)
        if not killed(child):
            assert acknowledged == 1 + len(short.parts)
            break
        assert_a_moment_of_the_run(path, short, acknowledged)
    else:
        pytest.fail("the run was never written to its end")
    assert statements > 50


@pytest.mark.slow
def test_killed_while_a_database_is_made_the_next_start_makes_it(tmp_path):
    # A prime stride hits each kind of statement of each step, and not all of them.
    for statements in range(0, 1200, 23):
        path = tmp_path / f"{statements}.sqlite"
        child, listen = in_child(lambda say: made(path, say, statements))  # noqa: B023
        whole = heard(listen) == 1
        assert killed(child) is not whole
        with Store.open(path) as store:
            assert list(store.audit().findings()) == []
        if whole:
            break
    else:
        pytest.fail("the database was never made")
    assert statements > 100


@pytest.mark.slow
@pytest.mark.parametrize("words", [1, 2, 7, 20, 33, 50])
def test_killed_from_outside_no_acknowledged_reading_is_lost(path, followed, words):
    child, listen = in_child(lambda say: written(path, followed, say))
    for _ in range(words):
        assert os.read(listen, 1)
    os.kill(child, signal.SIGKILL)
    acknowledged = words + heard(listen)
    assert killed(child)
    assert_a_moment_of_the_run(path, followed, acknowledged)


def test_a_run_left_live_is_interrupted_at_the_next_start(path, store):
    add_specimen(store)
    run = store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=10**9, utc_ns=5 * 10**9)
    readings = [r for r in drawn(GOOD_RUN)[:1500] if r.t_ns > 10**9]
    tracker = Tracker(PLAN, t_ns=10**9)
    events = [event for reading in readings for event in tracker.feed(reading)]
    store.runs.append(run, readings=readings, events=events)
    assert tracker.state is RunState.HOLD
    store.close()  # all of it is committed, as after a kill
    with Store.open(path) as again:
        assert again.interrupted == (run,)
        kept = again.runs.one(run)
        assert (kept.state, kept.reason) == (RunState.INTERRUPTED, "the daemon died")
        assert kept.assessment is None
        assert again.runs.readings(run) == readings
        last = readings[-1].t_ns
        assert (kept.ended_t_ns, kept.ended_utc_ns) == (last, last + 4 * 10**9)
        assert again.runs.events(run) == [
            *events,
            StateChanged(
                t_ns=last,
                since_ns=last,
                before=RunState.HOLD,
                after=RunState.INTERRUPTED,
                reason="the daemon died",
                stress_psi=None,
            ),
        ]
        assert again.runs.live() is None
    with Store.open(path) as later:
        assert later.interrupted == ()
        assert later.runs.one(run) == kept
