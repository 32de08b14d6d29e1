"""How many wrong changes of the code no test notices: `make mutate`.

As many of each package are drawn by a seed. Each is put into a copy of the program, and those tests
run that reach it, until the first that fails or does not end. A mutant that no test notices
survives, and is printed. Those that `equivalent.toml` names with a reason change nothing that can
be seen. Figures move by 1 % where they come from a standard, and else to four times what they are.

What each came to is added to a file at once, and is not tried again; `--again` tries the survivors.
With `--unchanged` the right code is put in the same way: no test may notice it.
"""

import argparse
import json
import queue
import random
import sys
import tempfile
import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from mutate.mutations import changes, mutant
from mutate.tree import (
    PACKAGES,
    ROOT,
    Tree,
    chosen,
    code,
    files_of,
    is_reached,
    modules,
    reaches,
)
from ramphold.clock import NS_PER_S, SystemClock

MOST_PCT = 4
#: Most mutants are noticed by tests that take no longer than this together.
QUICK_S = 5
#: Packages whose figures come from standards.
FINE = ("method",)
KEPT = ROOT / "dist/mutants"
EQUIVALENT = Path(__file__).with_name("equivalent.toml")
CLOCK = SystemClock()
SAME = ("module", "function", "was", "now")


def main():
    given = _given()
    KEPT.mkdir(parents=True, exist_ok=True)
    file = KEPT / f"seed-{given.seed}{'-unchanged' if given.unchanged else ''}.jsonl"
    if given.again:
        kept = [one for one in _tried(file).values() if one["by"]]
        file.write_text("".join(json.dumps(one) + "\n" for one in kept), encoding="utf-8")
    drawn = list(_drawn(random.Random(given.seed), given.packages, given.sample))
    if given.unchanged:
        drawn = [(module, replace(one, source=code(module))) for module, one in drawn]
    with tempfile.TemporaryDirectory() as folder:
        _try(drawn, file, Path(folder), given)
    tried = _tried(file)
    found = [tried[_key(*one)] for one in drawn]
    if given.unchanged:
        return _told_unchanged(found) > 0
    return _told(given.seed, found) > MOST_PCT


def _given():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--packages", nargs="+", default=PACKAGES)
    parser.add_argument("--jobs", type=int, default=2, help="so many at a time")
    parser.add_argument("--most-s", type=float, default=60, help="for the tests of a mutant")
    parser.add_argument("--again", action="store_true", help="try those that survived once more")
    parser.add_argument("--unchanged", action="store_true", help="put in the right code instead")
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


def _kept(module, one):
    return {"module": module, "line": one.line} | {name: getattr(one, name) for name in SAME[1:]}


def _key(module, one):
    return tuple(_kept(module, one).values())


def _tried(file):
    """What is in the file: the last word on each mutant."""
    text = file.read_text(encoding="utf-8") if file.exists() else ""
    lines = [json.loads(one) for one in text.splitlines()]
    return {tuple(one[name] for name in ("module", "line", *SAME[1:])): one for one in lines}


def _try(drawn, file, folder, given):
    """What is not tried yet: most are noticed by quick tests, so these are run first, alone."""

    def left(wanted):
        tried = _tried(file)
        return [one for one in drawn if wanted(tried.get(_key(*one)))]

    def is_unnoticed(one):
        return one and one["by"] == "" and one["most_s"] < given.most_s

    def has_no_answer(one):
        return not one or one["by"] is None

    if not left(lambda one: has_no_answer(one) or is_unnoticed(one)):
        return
    lines = reaches(given.packages, KEPT / "reach", folder, given.jobs)
    first = argparse.Namespace(**vars(given) | {"most_s": min(QUICK_S, given.most_s)})
    _swap(left(lambda one: not one), lines, Tree(folder / "first"), file, first)
    _swap(left(is_unnoticed), lines, Tree(folder / "again"), file, given)
    _write(left(has_no_answer), lines, folder, file, given)


def _swap(mutants, lines, tree, file, given):
    """In forks of one process."""
    if not mutants:
        return
    put = tree.folder.with_suffix(".jsonl")
    every = []
    with put.open("w", encoding="utf-8") as out:
        for module, one in mutants:
            tests = chosen(lines, module, one.block, given.most_s)
            every += tests
            kept = _kept(module, one) | {"tests": len(tests), "most_s": given.most_s}
            # What only an import runs leaves values behind.
            top = one.top if is_reached(lines, module, one.block) else ""
            what = {"module": module, "top": top, "source": one.source}
            out.write(json.dumps(what | {"tests": tests, "kept": kept}) + "\n")
    tree.run("swap", put, file, str(given.jobs), *files_of(every))


def _write(mutants, lines, folder, file, given):
    """Those that could not be tried so, each in a process of its own that imports them."""
    trees = queue.SimpleQueue()
    for number in range(given.jobs):
        trees.put(Tree(folder / f"whole-{number}"))

    def attempt(module, one):
        tree, began_ns = trees.get(), CLOCK.now_ns()
        tests = chosen(lines, module, one.block, given.most_s)
        by = tree.noticed(module, one.source, tests)
        trees.put(tree)
        took_s = round((CLOCK.now_ns() - began_ns) / NS_PER_S, 1)
        kept = _kept(module, one) | {"tests": len(tests), "most_s": given.most_s}
        with file.open("a", encoding="utf-8") as out:
            out.write(json.dumps(kept | {"by": by, "s": took_s}) + "\n")

    with ThreadPoolExecutor(given.jobs) as pool:
        list(pool.map(lambda pair: attempt(*pair), mutants))


def _told_unchanged(found):
    wrongly = [one for one in found if one["by"]]
    for one in wrongly:
        sys.stdout.write(f"NOTICES NOTHING  {one['module']}:{one['line']}: {one['by']}\n")
    sys.stdout.write(f"{len(found)} times the right code, {len(wrongly)} times a test failed\n")
    return len(wrongly)


def _told(seed, found):
    known = tomllib.loads(EQUIVALENT.read_text(encoding="utf-8"))["equivalent"]
    named = [tuple(one[name] for name in SAME) for one in known]
    survive = [one for one in found if not one["by"]]
    real = [one for one in survive if tuple(one[name] for name in SAME) not in named]
    for one in real:
        where = f"{one['module']}:{one['line']} {one['function']}"
        sys.stdout.write(f"SURVIVES  {where}\n    - {one['was']}\n    + {one['now']}\n")
    same = len(survive) - len(real)
    share = 100 * len(real) / max(len(found) - same, 1)
    sys.stdout.write(
        f"seed {seed}: {len(found)} mutants, {len(survive)} survive, {same} of these change nothing"
        f" that can be seen: {len(real)} of {len(found) - same} unnoticed, {share:.1f} %\n"
    )
    return share


if __name__ == "__main__":
    sys.exit(main())
