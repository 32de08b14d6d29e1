"""How many wrong changes of the code no test notices: `make mutate`.

As many of each package are drawn by a seed. Each is put into a copy of the tree, and the tests of
its package's folder run until the first that fails, those that name most of its module first. A
mutant that no test notices survives, and is printed. Some of them change nothing that can be seen.
Figures move by 1 % where they come from a standard, and else to four times what they are.
"""

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from mutate.mutations import changes, mutant
from ramphold.clock import NS_PER_S, SystemClock

ROOT = Path(__file__).parents[2]
PACKAGES = ("method", "core", "wire", "store", "sample")
#: Folders whose tests are of a package too, beside its own.
ALSO = {"core": ("sim",), "store": ("daemon",), "sample": ("report",)}
LEFT_OUT = shutil.ignore_patterns(".git", ".venv", "dist", "__pycache__", ".*_cache")
PATIENCE_S = 300
MOST_PCT = 4
#: Packages whose figures come from standards.
FINE = ("method",)
CLOCK = SystemClock()


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--packages", nargs="+", default=PACKAGES)
    parser.add_argument("--seconds", type=float, default=float("inf"), help="begin no more after")
    given = parser.parse_args()
    tried, survived = 0, 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "tree"
        shutil.copytree(ROOT, copy, ignore=LEFT_OUT)
        for package in given.packages:
            # A folder that fails anyway would seem to notice everything.
            for tests in (package, *ALSO.get(package, ())):
                if not _passes(copy, [copy / "tests" / tests]):
                    sys.exit(f"tests/{tests} fails without a mutant: mend it first")
        began_s = _now_s()
        for file, change in _drawn(copy, random.Random(given.seed), given.packages, given.sample):
            if _now_s() - began_s > given.seconds:
                break
            tried += 1
            one = mutant(file.read_text(), *change, fine=file.parent.name in FINE)
            if _survives(copy, file, one):
                survived += 1
                name = f"{file.relative_to(copy / 'logger/ramphold')}:{one.line}"
                sys.stdout.write(f"SURVIVES  {name}  {one.what}\n")
                sys.stdout.flush()
    share = 100 * survived / max(tried, 1)
    sys.stdout.write(
        f"seed {given.seed}: {survived} of {tried} mutants survive ({share:.1f} %),"
        f" {_now_s() - began_s:.0f} s\n"
    )
    return share > MOST_PCT


def _now_s():
    return CLOCK.now_ns() / NS_PER_S


def _drawn(copy, rng, packages, sample):
    """(file, change), by turns of each package."""
    by_package = []
    for package in packages:
        files = sorted((copy / "logger/ramphold" / package).glob("*.py"))
        found = [
            (file, change)
            for file in files
            for change in changes(file.read_text(), fine=package in FINE)
        ]
        by_package.append(rng.sample(found, -(-sample // len(packages))))
    return [one for turn in zip(*by_package, strict=True) for one in turn][:sample]


def _survives(copy, file, one):
    right = file.read_text()
    file.write_text(one.source)
    try:
        return all(_passes(copy, tests) for tests in _tests(copy, file, right))
    finally:
        file.write_text(right)


def _tests(copy, file, right):
    """The tests of its own folder, then of the others, those that name most of it first."""
    tree = ast.parse(right)
    names = [one.name for one in tree.body if isinstance(one, ast.ClassDef | ast.FunctionDef)]
    spoken = re.compile(r"\b(" + "|".join([*names, file.stem.strip("_")]) + r")\b")
    package = file.parent.name
    for folder in (package, *ALSO.get(package, ())):
        files = sorted((copy / "tests" / folder).glob("test_*.py"))
        yield sorted(files, key=lambda one: -len(spoken.findall(one.read_text())))


def _passes(copy, tests):
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider",
               "--hypothesis-seed=0", *tests]  # fmt: skip
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    env["PYTHONPATH"] = ":".join(str(copy / one) for one in ("logger", "tui", "tests"))
    try:
        done = subprocess.run(
            command, cwd=copy, env=env, timeout=PATIENCE_S, check=False, capture_output=True
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


if __name__ == "__main__":
    sys.exit(main())
