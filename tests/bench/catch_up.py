"""How soon runs are filed: a single one, and the 600 of a bench that was away for a month.

`make bench-catch-up`. The same collector takes a month of three benches, one after the other, to
show whether its memory stays flat. A single run has four minutes; its time counts from its commit.
"""

import argparse
import shutil
import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from soak import SoakBench

from support.laboratory import Laboratory, until


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=600)
    parser.add_argument("--months", type=int, default=3)
    given = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="ramphold-catch-up-"))
    laboratory = Laboratory(folder)
    try:
        singles(laboratory)
        away = laboratory.bench(kind=SoakBench).writes(given.runs)
        away.line.away()
        away.start()
        until(lambda: ended(away) >= given.runs, timeout_s=600)
        away.stop()
        print(f"{given.runs} runs, {away.outbox()[0]} records a bench")
        print(row("month", "caught up s", "runs/s", "bench MB", "collector MB", "broker MB"))
        for month in range(1, given.months + 1):
            back = laboratory.bench(kind=SoakBench).writes(given.runs)
            shutil.copy(away.database, back.database)
            back.start()
            took_s = laboratory.delivered(back, timeout_s=600)
            held = [one.memory() / 1e6 for one in (back, laboratory.collector, laboratory.broker)]
            print(row(month, took_s, given.runs / took_s, *held))
            back.stop()
    finally:
        laboratory.close()
        shutil.rmtree(folder)


def singles(laboratory):
    """Print how soon single runs are filed, at two paces of reading."""
    print(row("readings/s", "runs", "median s", "worst s"))
    for per_s in (10, 80):
        bench = laboratory.bench(kind=SoakBench).writes(7, per_s=per_s, every_s=1).start()
        until(lambda: ended(bench) >= 1)  # noqa: B023
        laboratory.delivered(bench)
        took = [filed_after(laboratory, bench, runs) for runs in range(3, 8)]
        print(row(per_s, len(took), statistics.median(took), max(took)))
        laboratory.end(bench)
    print()


def row(*cells):
    return "".join(f"{one:>14.2f}" if isinstance(one, float) else f"{one:>14}" for one in cells)


def filed_after(laboratory, bench, runs):
    """How long after the end of a bench's run of that number it was filed, in s."""
    until(lambda: ended(bench) >= runs, every_s=0.002)
    began_s = time.perf_counter()
    name = bench.name
    count = "SELECT count(*) FROM events WHERE kind = 'run' AND bench = ?"
    until(lambda: laboratory.rows(count, name)[0][0] >= runs, every_s=0.005)
    return time.perf_counter() - began_s


def ended(bench):
    """How many runs of a bench have ended."""
    try:
        return bench.rows("SELECT count(*) FROM runs WHERE ended_t_ns IS NOT NULL")[0][0]
    except sqlite3.OperationalError:
        return 0


if __name__ == "__main__":
    main()
