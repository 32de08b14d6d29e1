"""How many wrong changes of the code no test notices: `make mutate`.

As many of each package are drawn by a seed. Each is put into a copy of the tree, and those tests
of its package's folder run that reach it, until the first that fails. A mutant that no test notices
survives, and is printed. Those that `equivalent.toml` names with a reason change nothing that can
be seen. Figures move by 1 % where they come from a standard, and else to four times what they are.

What each came to is added to a file, and is not tried again there; `--again` tries the survivors.
"""

import argparse
import json
import queue
import random
import sys
import tempfile
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from mutate.mutations import changes, mutant
from mutate.tree import PACKAGES, ROOT, Tree, chosen, code, modules, reaches
from ramphold.clock import NS_PER_S, SystemClock

MOST_PCT = 4
#: Packages whose figures come from standards.
FINE = ("method",)
KEPT = ROOT / "dist/mutants"
EQUIVALENT = Path(__file__).with_name("equivalent.toml")
CLOCK = SystemClock()
SAME = ("module", "function", "was", "now")


def main():
    given = _given()
    KEPT.mkdir(parents=True, exist_ok=True)
    file = KEPT / f"seed-{given.seed}.jsonl"
    drawn = list(_drawn(random.Random(given.seed), given.packages, given.sample))
    with tempfile.TemporaryDirectory() as folder:
        tried = _tried(file, again=given.again)
        waiting = [(m, one) for m, one in drawn if _key(m, one) not in tried]
        if waiting:
            lines = reaches(given.packages, KEPT / "reach", Path(folder))
            _try(waiting, lines, Path(folder), file, given)
    tried = _tried(file, again=False)
    found = [tried[_key(m, one)] for m, one in drawn if _key(m, one) in tried]
    return _told(given.seed, found) > MOST_PCT


def _given():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--packages", nargs="+", default=PACKAGES)
    parser.add_argument("--seconds", type=float, default=float("inf"), help="begin no more after")
    parser.add_argument("--jobs", type=int, default=2, help="so many at a time")
    parser.add_argument("--again", action="store_true", help="try those that survived once more")
    return parser.parse_args()


def _drawn(rng, packages, sample):
    """(module, mutant), by turns of each package."""
    by_package = []
    for package in packages:
        fine = package in FINE
        found = [(m, change) for m in modules(package) for change in changes(code(m), fine=fine)]
        by_package.append(rng.sample(found, -(-sample // len(packages))))
    turns = [one for turn in zip(*by_package, strict=True) for one in turn]
    for module, change in turns[:sample]:
        yield module, mutant(code(module), *change, fine=module.partition("/")[0] in FINE)


def _key(module, one):
    return module, one.line, one.function, one.was, one.now


def _tried(file, *, again):
    """What is in the file, the last word on each mutant."""
    text = file.read_text(encoding="utf-8") if file.exists() else ""
    kept = [json.loads(one) for one in text.splitlines()]
    by_key = {tuple(one[n] for n in ("module", "line", *SAME[1:])): one for one in kept}
    return {key: one for key, one in by_key.items() if one["by"] or not again}


def _try(waiting, lines, folder, file, given):
    trees = queue.SimpleQueue()
    for number in range(given.jobs):
        trees.put(Tree(folder / f"tree-{number}"))
    began_s = _now_s()

    def attempt(module, one):
        if _now_s() - began_s > given.seconds:
            return
        tree, at_s = trees.get(), _now_s()
        tests = chosen(lines, module, one.block)
        by = tree.noticed(module, one.source, tests)
        trees.put(tree)
        took_s = round(_now_s() - at_s, 1)
        kept = dict(zip(("module", "line", *SAME[1:]), _key(module, one), strict=True))
        kept |= {"by": by, "tests": len(tests), "s": took_s}
        with file.open("a", encoding="utf-8") as out:
            out.write(json.dumps(kept) + "\n")
        if not by:
            sys.stdout.write(_line(kept))
            sys.stdout.flush()

    with ThreadPoolExecutor(given.jobs) as pool:
        list(pool.map(lambda pair: attempt(*pair), waiting))


def _now_s():
    return CLOCK.now_ns() / NS_PER_S


def _line(one):
    where = f"{one['module']}:{one['line']} {one['function']}"
    return f"SURVIVES  {where}\n    - {one['was']}\n    + {one['now']}\n"


def _told(seed, found):
    known = tomllib.loads(EQUIVALENT.read_text(encoding="utf-8"))["equivalent"]
    named = [tuple(one[name] for name in SAME) for one in known]
    survive = [one for one in found if not one["by"]]
    same = [one for one in survive if tuple(one[name] for name in SAME) in named]
    share = 100 * (len(survive) - len(same)) / max(len(found) - len(same), 1)
    ended = sum("::" not in one["by"] for one in found) - len(survive)
    sys.stdout.write(
        f"seed {seed}: {len(found)} mutants, {len(found) - len(survive)} noticed ({ended} as they"
        f" can't be imported or don't end), {len(survive)} survive, {len(same)} of these change"
        f" nothing that can be seen: {share:.1f} % unnoticed\n"
    )
    return share


if __name__ == "__main__":
    sys.exit(main())
