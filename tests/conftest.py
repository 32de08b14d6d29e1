"""What holds for every test: it leaves no thread, task or child behind."""

import asyncio
import gc
import threading

import pytest


@pytest.fixture(autouse=True, scope="module")
def only_what_is_new_is_looked_at():
    """Imports, collected tests and caches live on: they are not walked again after each test."""
    gc.freeze()
    yield
    gc.collect()


@pytest.fixture(autouse=True)
def nothing_stays_behind():
    """A test that leaves a thread running, or a task pending, fails."""
    before = set(threading.enumerate())
    yield
    left = [thread.name for thread in threading.enumerate() if thread not in before]
    assert not left, f"threads left running: {left}"
    # `asyncio.run` cancels what is left in its loop; a task that outlived its loop is a leak.
    pending = [task for task in _tasks() if not task.done()]
    assert not pending, f"tasks left pending: {pending}"


def _tasks():
    return [thing for thing in gc.get_objects() if isinstance(thing, asyncio.Task)]
