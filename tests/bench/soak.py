"""Many benches, one broker, one collector, and each of them killed again and again: `make soak`.

Every bench writes runs with the real store and publishes them; broker, collector, benches and the
lines between them fail at random moments. In the end the archive must hold every record of every
bench once, with the hashes that the benches have.
"""

import argparse
import random
import shutil
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from ramphold.collector.archive import open_archive
from support.comparing import compare
from support.laboratory import BenchProgram, Laboratory

PROGRAM = Path(__file__).parent / "_soak_bench.py"
TELL_EVERY_S = 20.0
HARM_EVERY_S = (3, 9)
#: How often each fails, beside the others.
HARM = {"broker": 2, "collector": 2, "bench": 3, "network": 3}


class SoakBench(BenchProgram):
    """A bench whose program writes runs as fast as it can, until it has so many."""

    def writes(self, runs, seed=1, per_s=10, every_s=0):
        self.arguments = [PROGRAM, "bench.toml", *map(str, (runs, seed, per_s, every_s))]
        return self


@dataclass
class Soak:
    """A laboratory of many benches, and what was done to it."""

    laboratory: Laboratory
    benches: list[SoakBench]
    rng: random.Random
    began_s: float = field(default_factory=time.perf_counter)
    harmed: Counter = field(default_factory=Counter)
    most_memory: Counter = field(default_factory=Counter)

    @property
    def took_s(self):
        return time.perf_counter() - self.began_s

    def go(self, runs, seconds):
        """Harm and mend until all is filed; whether that was in time."""
        for bench in self.benches:
            bench.start()
        tell_s = harm_s = 0.0
        while self.took_s < seconds:
            ((filed,),) = self.laboratory.rows("SELECT count(*) FROM run_data") or ((0,),)
            waiting = self.waiting()
            if self.took_s >= tell_s:
                tell_s = self.took_s + TELL_EVERY_S
                print(
                    f"{self.took_s:6.0f} s {filed:8} runs filed {waiting:8} records waiting "
                    f"{self.harmed.total():6} faults"
                )
            if filed >= runs and not waiting:
                return True
            if filed < runs and self.took_s >= harm_s:
                self.harm()
                harm_s = self.took_s + self.rng.uniform(*HARM_EVERY_S)
            for name in ("broker", "collector"):
                held = getattr(self.laboratory, name).memory()
                self.most_memory[name] = max(self.most_memory[name], held)
            time.sleep(1)
        return False

    def waiting(self):
        """How many records have no receipt; a bench that has no database yet counts as one."""
        found = 0
        for bench in self.benches:
            try:
                found += sum(bench.outbox())
            except sqlite3.OperationalError:
                found += 1
        return found

    def harm(self):
        """One thing fails, and comes back."""
        (what,) = self.rng.choices(list(HARM), HARM.values())
        self.harmed[what] += 1
        if what == "network":
            line = self.rng.choice([self.laboratory.collector, *self.benches]).line
            line.cut_after(self.rng.randrange(50_000))
            return
        one_of = {"broker": [self.laboratory.broker], "collector": [self.laboratory.collector]}
        victim = self.rng.choice(one_of.get(what, self.benches))
        victim.kill()
        time.sleep(self.rng.uniform(0, 1))
        victim.start()

    def check(self):
        """Every bench compared with the archive."""
        for bench in self.benches:
            bench.stop()
        with ProcessPoolExecutor(2) as pool:
            waiting = [
                pool.submit(checked, self.laboratory.archive, bench.database, bench.name)
                for bench in self.benches
            ]
            return [one.result() for one in waiting]


def checked(archive, database, name):
    with open_archive(archive, read_only=True) as opened:
        return compare(opened, database, name)


def main():
    """Print progress, then the table; exit status 1 where anything is not as it must be."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=10_000)
    parser.add_argument("--benches", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=840, help="when to give up")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    sys.stdout.reconfigure(line_buffering=True)
    folder = Path(tempfile.mkdtemp(prefix="ramphold-soak-"))
    laboratory = Laboratory(folder)
    try:
        rng = random.Random(given.seed)
        each = -(-given.runs // given.benches)
        benches = [
            laboratory.bench(kind=SoakBench).writes(each, rng.randrange(10**9))
            for _ in range(given.benches)
        ]
        soak = Soak(laboratory, benches, rng)
        in_time = soak.go(each * given.benches, given.seconds)
        well = tell(soak, soak.took_s, soak.check()) and in_time
    finally:
        laboratory.close()
        shutil.rmtree(folder)
    sys.exit(0 if well else 1)


def tell(soak, took_s, found):
    """Print the table; whether all is well."""
    rows = soak.laboratory.rows
    runs, records = sum(one.runs for one in found), sum(one.records for one in found)
    faults = [fault for one in found for fault in one.faults]
    ((filed, several),) = rows(
        "SELECT count(*), count(*) - count(DISTINCT series || ':' || run) FROM run_data"
    )
    ((events,),) = rows("SELECT count(*) FROM events")
    ((refused,),) = rows("SELECT count(*) FROM quarantine")
    lines = {
        "benches": len(soak.benches),
        "runs on the benches, each filed with its hashes": runs,
        "records on the benches, each filed with its hashes": records,
        "runs filed": filed,
        "runs filed more than once": several,
        "records filed": events,
        "not filed, or filed otherwise": len(faults),
        "in quarantine": refused,
        "without a receipt": soak.waiting(),
    }
    lines |= {f"{name} failed": count for name, count in sorted(soak.harmed.items())}
    print()
    for text, value in lines.items():
        print(f"{text:<52}{value:>10}")
    print(f"{'time until the last receipt':<52}{took_s:>8.0f} s")
    for name, held in sorted(soak.most_memory.items()):
        print(f"{'most memory of the ' + name:<52}{held / 1e6:>7.0f} MB")
    for fault in faults[:20]:
        print(fault)
    return not faults and not several and not soak.waiting() and filed == runs and events == records


if __name__ == "__main__":
    main()
