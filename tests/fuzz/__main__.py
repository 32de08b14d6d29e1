"""Fuzzes every target in turn for a number of seconds; the exit status is 1 if a fault was found.

    python -m fuzz [--seconds 600] [--seed 1] [--only NAME]

A fault is printed with the smallest bytes found for it. Each one found becomes a test beside its
reader.
"""

import argparse
import logging
import sys
import time
import traceback

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as seeded

from fuzz.mutations import mutated
from fuzz.targets import TARGETS, Target, holds

_EXAMPLES = 200


def run(target: Target, seed: int, examples: int = _EXAMPLES) -> tuple[bytes, str] | None:
    """Read many mutated bytes; the smallest that a reader failed on, and how it failed."""
    last: list[bytes] = []

    @seeded(seed)
    @settings(
        max_examples=examples, deadline=None, database=None,
        suppress_health_check=list(HealthCheck), phases=(Phase.generate, Phase.shrink),
    )  # fmt: skip
    @given(mutated(target.seeds))
    def reads(data: bytes) -> None:
        last[:] = [data]
        holds(target, data)

    try:
        reads()
    except Exception:  # noqa: BLE001 - whatever a reader may raise is what is looked for
        return last[0], traceback.format_exc(limit=-4)
    return None


def main() -> int:
    """Run the targets in turn until the time is up."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="")
    options = parser.parse_args()
    logging.disable()  # what a reader warns of is no fault
    chosen = [one for one in TARGETS if options.only in one.name]
    until, seed = time.perf_counter() + options.seconds, options.seed
    rounds, found = 0, {}
    while time.perf_counter() < until:
        for target in chosen:
            if target.name not in found and (fault := run(target, seed)) is not None:
                found[target.name] = fault
                print(f"\n{target.name}: {fault[0][:400]!r}\n{fault[1]}", flush=True)
        seed, rounds = seed + 1, rounds + 1
        left = max(0.0, until - time.perf_counter())
        print(f"\rround {rounds}, {len(found)} faults, {left:.0f} s to go ", end="", flush=True)
    examples = rounds * _EXAMPLES * len(chosen)
    print(f"\n{len(chosen)} readers, {examples} inputs at most, {len(found)} with a fault")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
