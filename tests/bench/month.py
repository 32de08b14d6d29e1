"""Memory and file handles of the daemon over a simulated month, and what has grown, by name.

`make bench-month`. A real daemon on the simulated bench, as fast as it goes: each working day 20
specimens are crushed at 10 readings/s, then the night is skipped. With `--trace` the growth of
Python's own memory since the first hour is named by file and line, which costs twice the time.
"""

import argparse
import asyncio
import gc
import os
import sys
import tempfile
import tracemalloc
from pathlib import Path

from ramphold.control import run_methods, sample_methods, specimen_methods
from ramphold.control.client import Client
from ramphold.control.run_methods import ON_EVENT, ON_SNAPSHOT
from ramphold.demo._simulated_bench import SimulatedBench

DAYS, A_DAY = 22, 20
HOUR = 8
BOUND_MB = 1.0
NIGHT_S = 16 * 3600.0


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--days", type=int, default=DAYS)
    parser.add_argument("--trace", action="store_true")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="r") as folder:
        sys.exit(asyncio.run(month(Path(folder), given.days, traced=given.trace)))


async def month(folder, days, *, traced):
    """Crush for so many days; 1 where memory or handles grew over the bound."""
    print("day   runs     MB  Python MB  handles")
    async with SimulatedBench(folder, seed=1, speed=None) as bench:
        watcher = await Client.connect(Path(bench.config.control.socket))
        told = await watcher.subscribe(ON_SNAPSHOT, ON_EVENT)
        screen = asyncio.create_task(_listen(told))
        first, runs, before = None, 0, None
        if traced:
            tracemalloc.start(12)
        for day in range(1, days + 1):
            await bench.receive_sand(f"DAY-{day}")
            await bench.ask(sample_methods.PLAN_STRESS, sample=f"DAY-{day}", stress_psi=4000.0)
            for number in range(A_DAY):
                await crush(bench, day, number)
                runs += 1
                if runs == HOUR:
                    first, before = state(), tracemalloc.take_snapshot() if traced else None
                    print(f"hour {runs:>5}{line(first)}", flush=True)
            print(f"{day:>3} {runs:>6}{line(state())}", flush=True)
            await bench.skip(NIGHT_S)
        last = state()
        if traced:
            tell_growth(before, tracemalloc.take_snapshot())
        screen.cancel()
        await watcher.aclose()
    grown_mb, handles = last[0] - first[0], last[2] - first[2]
    print(f"since the first hour: {grown_mb:+.1f} MB (at most {BOUND_MB}), {handles:+} handles")
    return grown_mb > BOUND_MB or handles > 0


async def crush(bench, day, number):
    """One specimen, from its start to its release, and a few minutes at the balance."""
    added = await bench.ask(
        specimen_methods.ADD_SPECIMEN, label=f"{day}-{number}", target_psi=4000.0,
        sample=f"DAY-{day}",
    )  # fmt: skip
    await bench.ask(run_methods.START_RUN, specimen=added.specimen)
    while bench.daemon.press.live:
        await bench.pump()
    await bench.daemon.press.written()
    bench.lay_bed()
    await bench.skip(300.0)


async def _listen(told):
    async for _ in told:
        pass


def state():
    """MB of the process, MB that Python has given out, and open file handles."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    python = tracemalloc.get_traced_memory()[0] if tracemalloc.is_tracing() else 0
    return (
        pages * os.sysconf("SC_PAGE_SIZE") / 2**20,
        python / 2**20,
        len(list(Path("/proc/self/fd").iterdir())),
    )


def line(one):
    return f"{one[0]:>7.1f}{one[1]:>11.2f}{one[2]:>9}"


def tell_growth(before, after):
    """What has grown most, with where it was made."""
    ours = [tracemalloc.Filter(inclusive=False, filename_pattern=tracemalloc.__file__)]
    found = after.filter_traces(ours).compare_to(before.filter_traces(ours), "lineno")
    for one in found[:15]:
        where = "/".join(Path(one.traceback[0].filename).parts[-3:])
        print(
            f"{one.size_diff / 1024:+9.1f} kB {one.count_diff:+7} {where}:{one.traceback[0].lineno}"
        )


if __name__ == "__main__":
    main()
