"""Copies of the tree, their tests, and which of them reach which code."""

import ast
import json
import os
import re
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from itertools import accumulate
from pathlib import Path

from mutate.mutations import blocks
from mutate.run_tests import ENDED, digest

ROOT = Path(__file__).parents[2]
PACKAGES = ("method", "core", "wire", "store", "sample")
#: Folders whose tests are of a package too, beside its own.
ALSO = {
    "method": ("report",),
    "core": ("sim",),
    "wire": ("daemon", "instruments", "cli", "collector", "publish"),
    "store": ("daemon", "cli", "collector", "publish"),
    "sample": ("daemon", "report"),
}
_LEFT_OUT = shutil.ignore_patterns(
    ".git", ".venv", "dist", "__pycache__", ".*_cache", ".hypothesis"
)
_MARK = "__reached__"
_NO_TESTS = 5


class Tree:
    """A copy of the tree, in which code may be wrong.

    Attributes:
        folder: where it is.
    """

    def __init__(self, folder):
        self.folder = folder
        shutil.copytree(ROOT, folder, ignore=_LEFT_OUT)

    def noticed(self, module, source, tests):
        """What notices a module's other source: a test's name, a signal's; empty for nothing."""
        file = self.folder / "logger/ramphold" / module
        right = file.read_text()
        given = self.folder.parent / f"{self.folder.name}.json"
        given.write_text(json.dumps(tests))
        file.write_text(source)
        try:
            done = self.run("run_tests", "notice", given, *files_of(tests))
        finally:
            file.write_text(right)
        if done.returncode in {0, _NO_TESTS}:
            return ""
        named = re.search(r"^NOTICED (.+)", done.stdout, re.MULTILINE)
        return ENDED.get(done.returncode) or (named[1] if named else "it can't be imported")

    def reach(self, packages, file, tests):
        """Add to a file what each of these test files reaches."""
        marks = f"REACHED = set()\n{_MARK} = REACHED.add\n"
        (self.folder / "logger/ramphold/reached.py").write_text(marks)
        for package in packages:
            for module in modules(package):
                text = (self.folder / "logger/ramphold" / module).read_text()
                (self.folder / "logger/ramphold" / module).write_text(_marked(module, text))
        self.run("run_tests", "reach", file, *tests)

    def run(self, module, *arguments):
        env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
        env["PYTHONPATH"] = ":".join(str(self.folder / one) for one in ("logger", "tui", "tests"))
        return subprocess.run(
            [sys.executable, "-m", f"mutate.{module}", *arguments],
            cwd=self.folder, env=env, check=False, capture_output=True, text=True,
        )  # fmt: skip


def modules(package):
    top = ROOT / "logger/ramphold"
    return [str(one.relative_to(top)) for one in sorted((top / package).glob("*.py"))]


def code(module):
    return (ROOT / "logger/ramphold" / module).read_text()


def files_of(tests):
    """The files of these tests, in their order."""
    return list(dict.fromkeys(file_of(one) for one in tests))


def file_of(test):
    return test["test"].partition("::")[0]


def test_files(package):
    for folder in (package, *ALSO.get(package, ())):
        for file in sorted((ROOT / "tests" / folder).glob("test_*.py")):
            yield str(file.relative_to(ROOT))


def reaches(packages, kept, folder, jobs):
    """What each test of these packages reaches; files that did not change are not run again."""
    state = sha256("".join(code(m) for p in packages for m in modules(p)).encode()).hexdigest()
    file = kept.with_name(f"{kept.name}-{state[:16]}.jsonl")
    wanted = {one: digest(ROOT / one) for p in packages for one in test_files(p)}
    lines = _lines(file, wanted)
    if missing := [one for one in wanted if one not in files_of(lines)]:
        sys.stdout.write(f"looks which code {len(missing)} files of tests reach\n")
        sys.stdout.flush()
        with ThreadPoolExecutor(jobs) as pool:
            for job in range(jobs):
                tree = Tree(folder / f"marked-{job}")
                pool.submit(tree.reach, packages, file.absolute(), missing[job::jobs])
        lines = _lines(file, wanted)
        if missing := [one for one in wanted if one not in files_of(lines)]:
            sys.exit(f"these did not run to their end: {' '.join(missing)}")
    for one in lines:
        if one["failed"]:
            sys.stdout.write(f"left out, as it fails anyway: {one['test']}\n")
    return [one for one in lines if not one["failed"]]


def _lines(file, wanted):
    text = file.read_text(encoding="utf-8") if file.exists() else ""
    lines = [json.loads(one) for one in text.splitlines()]
    return [one for one in lines if wanted.get(file_of(one)) == one["of"]]


def is_reached(lines, module, block):
    """Whether a test runs this block; what stands outside functions only an import runs."""
    mark = f"{module}#{block}"
    return any(mark in one["blocks"] for one in lines)


def chosen(lines, module, block, most_s):
    """The tests of a change: those that reach its block.

    Of what only an import runs they are those that reach any code of the module, then all others
    of its own folder. Those of its own folder come first, then files that name most of the module,
    then quick tests. The slowest are left out, until all took no more than `most_s`.
    """
    if is_reached(lines, module, block):
        return _quick(_reaching(lines, {f"{module}#{block}"}), module, most_s)
    marks = {mark for one in lines for mark in one["blocks"] if mark.startswith(f"{module}#")}
    found = _quick(_reaching(lines, marks), module, most_s)
    own, known = f"tests/{module.partition('/')[0]}/", {one["test"] for one in found}
    others = [one for one in lines if one["test"].startswith(own) and one["test"] not in known]
    return found + _quick(others, module, most_s)


def _reaching(lines, marks):
    shared = {file_of(one) for one in lines if not marks.isdisjoint(one["fixtures"])}
    return [one for one in lines if file_of(one) in shared or not marks.isdisjoint(one["blocks"])]


def _quick(tests, module, most_s):
    return _in_order(_until(most_s, sorted(tests, key=lambda one: one["s"])), module)


def _until(most_s, tests):
    """As many of the first as took no longer, but one at least."""
    until_s = accumulate(one["s"] for one in tests)
    return [one for one, s in zip(tests, until_s, strict=True) if s <= most_s] or tests[:1]


def _in_order(tests, module):
    own, named = f"tests/{module.partition('/')[0]}/", _named(module, files_of(tests))
    found = sorted(tests, key=lambda one: named[file_of(one)], reverse=True)
    return sorted(found, key=lambda one: not one["test"].startswith(own))


def _named(module, files):
    tree = ast.parse(code(module))
    names = [one.name for one in tree.body if isinstance(one, ast.ClassDef | ast.FunctionDef)]
    spoken = re.compile(r"\b(" + "|".join([*names, Path(module).stem.strip("_")]) + r")\b")
    # Files that name it equally often stay together.
    return {one: (len(spoken.findall((ROOT / one).read_text())), one) for one in files}


def _marked(module, source):
    tree = ast.parse(source)
    for number, block in enumerate(blocks(tree)):
        mark = ast.Expr(ast.Call(ast.Name(_MARK, ast.Load()), [ast.Constant(f"{module}#{number}")]))
        mark.value.keywords = []
        first = block[0]
        told = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
        block.insert(int(told), mark)
    at = int(ast.get_docstring(tree) is not None)
    tree.body.insert(at, ast.ImportFrom("ramphold.reached", [ast.alias(_MARK)], 0))
    return ast.unparse(ast.fix_missing_locations(tree))
