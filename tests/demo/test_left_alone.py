"""A demo that is left alone with its load released, for a day of the bench's time."""

import asyncio
import gc
import sys

import pytest

from ramphold.clock import NS_PER_S
from ramphold.control import run_methods, specimen_methods
from ramphold.core import Quality
from ramphold.demo import SimulatedBench

pytestmark = pytest.mark.slow

_HOUR_S = 3600
_STEP_S = 60


async def _crushed(bench):
    added = await bench.ask(specimen_methods.ADD_SPECIMEN, label="S-1", target_psi=2000.0)
    await bench.ask(run_methods.START_RUN, specimen=added.specimen, hold_s=5)
    while bench.daemon.press.live:
        await bench.pump()


async def _left_for_an_hour(bench):
    for _ in range(_HOUR_S // _STEP_S):
        await bench.skip(_STEP_S)


def _used():
    gc.collect()
    return sys.getallocatedblocks()


def test_a_day_passes_without_an_error_and_takes_no_more_memory(tmp_path):
    async def body():
        async with SimulatedBench(tmp_path, seed=1, speed=None) as bench:
            await _crushed(bench)
            # Where the creep of the bed falls to nothing: each reading of five minutes.
            await bench.pass_time(300)
            used = []
            for _ in range(24):
                await _left_for_an_hour(bench)
                used.append(_used())
            # A spike on the very last readings would say nothing of the day.
            seen = set()
            for _ in range(5):
                await bench.pass_time(1)
                seen.add(bench.daemon.press.snapshot().quality)
            assert Quality.GOOD in seen
            assert bench.clock.now_ns() > 24 * _HOUR_S * NS_PER_S
            return used

    used = asyncio.run(body())
    # What the first two hours fill stays; the other 22 take next to nothing, in blocks of 50 bytes.
    assert used[-1] - used[1] < 2000, used
