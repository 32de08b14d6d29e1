"""What the pacing does for ramp and hold beside a gauge and a stopwatch: one table a press.

    python tests/bench/pacing.py [--seeds N] [--sets own second] [--cases NAME ...] [--rows ...]
                                 [--figures FOLDER]

`own` is the program's own simulated press, which the pacing was tuned on; `second` has another
structure, other seeds and wider ranges of hands, and nothing was tuned on it. A person is given
the rendered screen alone. All is measured on the true load. `near`, `latch` and `silent` count a
run's warnings: near the ceiling, latched ones, and those of a load that does not answer.
Simulated: trust ratios and orderings.
"""

import argparse
import math
import multiprocessing
import time
from collections.abc import Iterator
from pathlib import Path

import _figures as figures
import _hands as hands
import _runs as runs

HEADER = (
    f"{'case':<30} {'help':<23} {'rms % (95 %)':>18} {'over +2 % (95 %)':>20} "
    f"{'in 1 % (95 %)':>20} {'hold error':>10} {'pass % (95 %)':>21} {'near':>6} {'latch':>6} "
    f"{'silent':>6}"
)

Job = tuple[str, str, int, str]


def main() -> None:
    """Run what was asked for and print a table a set."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--sets", nargs="+", default=list(hands.SETS), choices=list(hands.SETS))
    parser.add_argument("--cases", nargs="+", default=list(hands.CASES))
    parser.add_argument("--rows", nargs="+", default=["paced", "unaided squeeze"])
    parser.add_argument("--figures", type=Path)
    asked = parser.parse_args()
    started_s = time.perf_counter()
    with multiprocessing.Pool() as pool:
        for name in asked.sets:
            rows = dict.fromkeys(
                (row, simulated(case, row)) for case in asked.cases for row in asked.rows
            )
            jobs = [(*row, seed, name) for row in rows for seed in range(asked.seeds)]
            coming = zip(jobs, pool.imap(_run, jobs, 4), strict=True)
            outcomes: dict[Job, runs.Outcome] = {}
            for line in table(outcomes, coming, name, asked):
                print(line, flush=True)
            if asked.figures:
                figures.draw_worst(asked.figures, name, outcomes)
    print(f"\n{time.perf_counter() - started_s:.0f} s on {multiprocessing.cpu_count()} cores")


def simulated(case: str, row: str) -> str:
    """The case whose runs a row shows: the unaided of several cases are the same."""
    return case if row == "paced" else hands.CASES[case].unaided or case


def table(
    outcomes: dict[Job, runs.Outcome],
    coming: Iterator[tuple[Job, runs.Outcome]],
    name: str,
    asked: argparse.Namespace,
) -> Iterator[str]:
    """A row for each case and help, as soon as its runs are done."""
    plants = hands.SETS[name]
    yield (
        f"\npress {name}, for {plants.used_for}, {asked.seeds} seeds from {plants.first_seed}: "
        f"strip seen {plants.see_s} s and words {plants.answer_s} s late, gain "
        f"{plants.gain_per_s}/s, top-ups {plants.top_up_per_s} strokes/s"
    )
    yield HEADER
    for case in asked.cases:
        for row in asked.rows:
            wanted = [(row, simulated(case, row), seed, name) for seed in range(asked.seeds)]
            while wanted[-1] not in outcomes:
                outcomes.update([next(coming)])
            yield f"{case:<30} {row:<23} {summary([outcomes[job] for job in wanted])}"


def summary(some: list[runs.Outcome]) -> str:
    """The figures of one row; rms is the root of the mean square over the runs."""
    n = len(some)
    squares = [one.rms_pct**2 for one in some]
    rms = math.sqrt(sum(squares) / n)
    rms_half = half_width(squares) / (2 * rms) if rms and math.isfinite(rms) else 0.0
    errors = sorted(abs(one.hold_error_s) for one in some)
    in_1 = [100 * one.in_1 for one in some]
    return (
        f"{f'{rms:.2f} ({rms - rms_half:.2f} to {rms + rms_half:.2f})':>18} "
        f"{share(sum(one.peak_pct > 2 for one in some), n):>20} "
        f"{f'{sum(in_1) / n:.1f} ± {half_width(in_1):.1f}':>20} "
        f"{errors[math.ceil(0.95 * n) - 1]:10.2f} "
        f"{share(sum(one.passed for one in some), n):>21} "
        f"{sum(one.near_ceiling for one in some) / n:6.2f} "
        f"{sum(one.latched for one in some) / n:6.2f} "
        f"{sum(one.no_answer for one in some) / n:6.2f}"
    )


def half_width(values: list[float]) -> float:
    """Half the 95 % interval of a mean, by the normal distribution."""
    n = len(values)
    if n < 2 or not all(map(math.isfinite, values)):
        return 0.0
    mean = sum(values) / n
    return 1.96 * math.sqrt(sum((v - mean) ** 2 for v in values) / (n - 1) / n)


def share(k: int, n: int) -> str:
    """A share in % with its 95 % interval by Wilson's score."""
    low, high = wilson(k, n)
    return f"{100 * k / n:.0f} ({100 * low:.1f} to {100 * high:.1f})"


def wilson(k: int, n: int) -> tuple[float, float]:
    """95 % interval of a share."""
    z = 1.959964
    centre = (k + z * z / 2) / (n + z * z)
    half = z / (n + z * z) * math.sqrt(k * (n - k) / n + z * z / 4)
    return max(0.0, centre - half), min(1.0, centre + half)


def _run(job: Job) -> runs.Outcome:
    row, case, seed, name = job
    return runs.run(row, hands.CASES[case], seed, hands.SETS[name])


if __name__ == "__main__":
    main()
