"""A disk that answers no more under a live run, told on the screen."""

import asyncio
import contextlib
import threading
import time
from pathlib import Path

from ramphold.control import run_methods, specimen_methods
from ramphold.demo import SimulatedBench
from ramphold_tui.app import make_app
from ramphold_tui.widgets import TextBlock

#: What a busy computer takes beside is in the slowest of these, not in the fastest.
STALLS = 3


@contextlib.asynccontextmanager
async def stalled(bench):
    """The one thread that writes waits, as for a disk that does not answer."""
    free = threading.Event()
    waiting = asyncio.create_task(bench.daemon._store.run(lambda _: free.wait(20)))
    try:
        yield
    finally:
        free.set()
        await waiting


def beside(app):
    """What stands beside the word at the press."""
    return " ".join(line.text for line in app.screen.query_one("#beside", TextBlock).lines)


async def shows(app, pilot, *, told):
    """Wait until the screen says that nothing is recorded, or no more; how long that took in s."""
    began_s = time.perf_counter()
    async with asyncio.timeout(10):
        while ("NOT RECORDED: nothing has been written for" in beside(app)) is not told:
            await pilot.pause(0.01)
    return time.perf_counter() - began_s


async def flow(folder):
    async with SimulatedBench(folder, seed=3, speed=1.0) as bench:
        await bench.ask(specimen_methods.ADD_SPECIMEN, label="s", target_psi=4000.0)
        await bench.ask(run_methods.START_RUN, specimen=1)
        app = make_app(Path(bench.config.control.socket))
        async with app.run_test() as pilot, asyncio.TaskGroup() as group:
            pumping = group.create_task(bench.pass_time(1000.0))
            took_s = []
            for _ in range(STALLS):
                await asyncio.sleep(1.5)  # for a commit, after the one that was late
                async with stalled(bench):
                    took_s.append(await shows(app, pilot, told=True))
                await shows(app, pilot, told=False)
            pumping.cancel()
            return took_s


def test_a_disk_that_stalls_is_told_on_the_screen_within_two_seconds_and_no_longer_than_it_does(
    tmp_path,
):
    assert min(asyncio.run(flow(tmp_path))) < 2.0
