"""Checks after every test, and the last lines of a run: which packages skipped tests need."""

import asyncio
import gc
import os
import shutil
import tempfile
import threading
import weakref
from pathlib import Path

import hypothesis
import pytest

from support.skips import told

# A deadline for each example would only measure the machine.
hypothesis.settings.register_profile("any machine", deadline=None)
hypothesis.settings.load_profile("any machine")

MEMORY = Path("/dev/shm")  # noqa: S108 - pytest makes a folder there that is its user's alone
ROOM_BYTES = 2 * 10**9


def pytest_addoption(parser):
    parser.addoption(
        "--skips",
        type=Path,
        metavar="FILE",
        help="keep there why tests were skipped, instead of summing it up",
    )


def pytest_configure():
    """Keep the tests' files in memory where it has room: a commit then waits for no disk.

    A process that is killed leaves the same there as on a disk, and no test cuts the power.
    """
    if "TMPDIR" in os.environ or not os.access(MEMORY, os.W_OK):
        return
    if shutil.disk_usage(MEMORY).free > ROOM_BYTES:
        os.environ["TMPDIR"] = str(MEMORY)
        tempfile.tempdir = None  # what it was before is kept there


def pytest_collection_modifyitems(items):
    """Begin with the files that take long, so that no worker is left alone with one at the end."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in slow)


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_sessionfinish(session):
    """After everything else, say how to run the tests that were skipped."""
    result = yield
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if reporter:  # xdist's workers have none
        reasons = [report.longrepr[2] for report in reporter.getreports("skipped")]
        if kept := session.config.option.skips:
            with kept.open("a", encoding="utf-8") as file:
                file.writelines(f"{reason}\n" for reason in reasons)
        else:
            for line in told(reasons):
                reporter.write_line(line, yellow=True)
    return result


@pytest.fixture(autouse=True, scope="module")
def only_what_is_new_is_looked_at():
    """Freeze imports, collected tests and caches, so that no check walks them again."""
    gc.freeze()
    yield
    gc.collect()


@pytest.fixture(autouse=True, scope="session")
def every_loop():
    """All loops that are still there: a pending task keeps its own alive."""
    loops, begin = weakref.WeakSet(), asyncio.BaseEventLoop.__init__

    def noted(loop):
        begin(loop)
        loops.add(loop)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(asyncio.BaseEventLoop, "__init__", noted)
        yield loops


@pytest.fixture(autouse=True)
def nothing_stays_behind(every_loop):
    """Fail a test that leaves a thread running or a task pending."""
    before = set(threading.enumerate())
    yield
    left = [thread for thread in threading.enumerate() if thread not in before]
    for thread in left:
        # One that has done its work, such as asyncio's that waits for a process, ends by itself.
        thread.join(1.0)
    running = [thread.name for thread in left if thread.is_alive()]
    assert not running, f"threads left running: {running}"
    # `asyncio.run` cancels what is left in its loop; a task that outlived its loop is a leak.
    pending = [task for loop in every_loop for task in asyncio.all_tasks(loop)]
    assert not pending, f"tasks left pending: {pending}"
