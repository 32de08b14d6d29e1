"""What different help does for ramp and hold: one table, all of it measured in one run.

    python tests/bench/pacing.py [--seeds N] [--per-s 10 80] [--figures FOLDER]

Every row meets the same presses and people, drawn by seed. The pacing was tuned on a set of
ranges and seeds of its own; `first` is drawn wider than that, `second` wider still, and neither
was tuned on. All is measured on the true load. Simulated: trust ratios and orderings.
"""

import argparse
import math
import multiprocessing
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import _figures as figures
import _runs as runs

TARGETS_PSI = (2000.0, 4000.0, 8000.0, 12_000.0)
SETS = ("first", "second")
HEADER = (
    f"{'target':>7} {'help':<33} {'rms %':>6} {'worst %':>8} {'over +2 % (95 %)':>19} "
    f"{'over ceiling (95 %)':>20} {'in 1 %':>7} {'in 2 %':>7} {'hold error s, p95':>18}"
)

#: Over this rate only what a rate can change is run: the paced rows (a person alone reads no
#: faster, perfection needs no reading) at the targets where a stroke is coarse.
FAST_PER_S = 10
COARSE_PSI = 4000.0

Job = tuple[str, float, int, str, int]


def main() -> None:
    """Run what was asked for and print a table a set and rate."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--per-s", type=int, nargs="+", default=[10])
    parser.add_argument("--figures", type=Path)
    asked = parser.parse_args()
    started_s = time.perf_counter()
    if asked.figures:
        figures.draw(asked.figures)
    with multiprocessing.Pool() as pool:
        for per_s in asked.per_s:
            for name in SETS:
                jobs = [
                    (row, target_psi, seed, name, per_s)
                    for target_psi, row in cases_at(per_s)
                    for seed in range(asked.seeds)
                ]
                say(name, per_s, asked.seeds)
                outcomes = dict(
                    zip(jobs, _watched(pool.imap(_run, jobs, 4), len(jobs)), strict=True)
                )
                for line in table(outcomes, name, per_s, asked.seeds):
                    print(line, flush=True)
    print(f"\n{time.perf_counter() - started_s:.0f} s on {multiprocessing.cpu_count()} cores")


def cases_at(per_s: int) -> list[tuple[float, str]]:
    """The targets and rows worth a run at this rate."""
    slow = per_s <= FAST_PER_S
    return [
        (target_psi, row)
        for target_psi in TARGETS_PSI
        for row in runs.ROWS
        if slow or (row in runs.STYLES and target_psi <= COARSE_PSI)
    ]


def say(name: str, per_s: int, seeds: int) -> None:
    """Head of one table."""
    plants = runs.SETS[name]
    print(
        f"\nset {name}, {per_s} readings/s, {seeds} seeds from {plants.first_seed}: spread of press"
        f" x {plants.spread}, of pump {plants.pump}, of person {plants.person}"
        " (tuned on x 1.0, 0, 0.2)"
    )
    print(HEADER)


def table(outcomes: dict[Job, runs.Outcome], name: str, per_s: int, seeds: int) -> Iterator[str]:
    """A row for each target and help."""
    for target_psi, row in cases_at(per_s):
        some = [outcomes[row, target_psi, seed, name, per_s] for seed in range(seeds)]
        yield f"{target_psi:7.0f} {row:<33} {summary(some)}"


def summary(some: list[runs.Outcome]) -> str:
    """The figures of one row; rms is the root of the mean square over the runs."""
    n = len(some)
    rms = math.sqrt(sum(one.rms_pct**2 for one in some) / n)
    errors = sorted(abs(one.hold_error_s) for one in some)
    return (
        f"{rms:6.2f} {sum(one.worst_pct for one in some) / n:8.2f} "
        f"{share(sum(one.peak_pct > 2 for one in some), n):>19} "
        f"{share(sum(one.over_ceiling for one in some), n):>20} "
        f"{100 * sum(one.in_1 for one in some) / n:7.1f} "
        f"{100 * sum(one.in_2 for one in some) / n:7.1f} "
        f"{errors[math.ceil(0.95 * n) - 1]:18.2f}"
    )


def share(k: int, n: int) -> str:
    """A share in % with its 95 % interval by Wilson's score."""
    z = 1.959964
    centre = (k + z * z / 2) / (n + z * z)
    half = z / (n + z * z) * math.sqrt(k * (n - k) / n + z * z / 4)
    low, high = max(0.0, centre - half), min(1.0, centre + half)
    return f"{100 * k / n:.1f} ({100 * low:.1f} to {100 * high:.1f})"


def _run(job: Job) -> runs.Outcome:
    row, target_psi, seed, name, per_s = job
    return runs.run(row, target_psi, seed, runs.SETS[name], per_s)


def _watched(outcomes: Iterator[runs.Outcome], n: int) -> Iterator[runs.Outcome]:
    for done, outcome in enumerate(outcomes, 1):
        if sys.stderr.isatty():
            print(f"\r{done} of {n} runs", end="" if done < n else "\r", file=sys.stderr)
        yield outcome


if __name__ == "__main__":
    main()
