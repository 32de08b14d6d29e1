"""Try wrong changes of functions in forks of one process that has imported all tests.

    python -m mutate.swap FILE OUT JOBS TESTS...

FILE holds the mutants, a JSON object a line: `module`; `top`, the function, or its class and it;
the changed `source`; the `tests` to run with what each took; and `kept`, which OUT gets once it was
tried, with `by` (what noticed it, empty for nothing, null where it could not be tried so) and `s`.

A fork puts the changed code into the function object itself, which all that imported it share, or a
value at the level of a module into all modules that hold it.
"""

import importlib
import json
import os
import sys
import time
import types
from pathlib import Path

import _pytest.main
import pytest

from mutate.run_tests import ENDED, FirstFound, limit_test

_NOT_TRIED = 97
_VALUES = (int, float, str, bytes, tuple, dict, frozenset)


class Swapper:
    """In place of the tests, as many forks at a time as `jobs`."""

    def __init__(self, file, out, jobs):
        self._mutants = [json.loads(one) for one in file.read_text().splitlines()]
        self._out = out
        self._jobs = jobs
        self._running = {}

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        items = {one.nodeid: one for one in session.items}
        for one in self._mutants:
            while len(self._running) >= self._jobs:
                self._wait()
            self._start(session, items, one)
        while self._running:
            self._wait()
        return True

    def _start(self, session, items, one):
        reads, writes = os.pipe()
        pid = os.fork()
        if not pid:
            code = _NOT_TRIED
            try:
                code = _fork(session, items, one, writes)
            finally:
                os._exit(code)
        os.close(writes)
        self._running[pid] = one, reads, time.perf_counter()

    def _wait(self):
        pid, status = os.wait()
        one, reads, began_s = self._running.pop(pid)
        with os.fdopen(reads) as pipe:
            said = pipe.read()
        code = os.waitstatus_to_exitcode(status)
        by = None if code == _NOT_TRIED else ENDED.get(code, said if code else "")
        if not by and not one["top"]:
            # What other modules had worked out of the value when they were imported is the old.
            by = None
        line = one["kept"] | {"by": by, "s": round(time.perf_counter() - began_s, 1)}
        with self._out.open("a", encoding="utf-8") as out:
            out.write(json.dumps(line) + "\n")


class _First:
    """Limits each test, and tells the first that fails."""

    def __init__(self, session, tests, pipe):
        self._session = session
        self._took = {one["test"]: one for one in tests}
        self._pipe = pipe

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_protocol(self, item):
        limit_test(self._took[item.nodeid])
        return (yield)

    def pytest_runtest_logreport(self, report):
        if report.failed and not self._session.shouldfail:
            os.write(self._pipe, report.nodeid.encode())
            self._session.shouldfail = "noticed"


def _fork(session, items, one, pipe):
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)
    session.items = [items[test["test"]] for test in one["tests"]]
    if one["top"]:
        swap(one["module"], one["top"], one["source"])
    else:
        swap_values(one["module"], one["source"])
    session.config.pluginmanager.register(_First(session, one["tests"], pipe))
    try:
        _pytest.main.pytest_runtestloop(session)
    except session.Failed:
        return 1
    finally:
        # What a whole run's fixtures started, such as a database server, ends with them.
        session._setupstate.teardown_exact(None)
    return 0


def swap_values(module, source):
    """Put what another source of a module works out in place of its values, for all who hold them.

    Raises:
        LookupError: that changes none of them, such as a default of a class's field.
    """
    held = _imported(module)
    made = types.ModuleType(held.__name__)
    made.__file__ = held.__file__
    exec(compile(source, held.__file__, "exec", dont_inherit=True), vars(made))  # noqa: S102
    changed = [
        (name, old, vars(made)[name])
        for name, old in vars(held).items()
        if name in vars(made) and type(old) in _VALUES and old != vars(made)[name]
    ]
    if not changed:
        raise LookupError(module)
    for name, old, new in changed:
        setattr(held, name, new)
        # Only a public one is imported, by its own name.
        for one in list(sys.modules.values()) if name[0] != "_" else ():
            if vars(one).get(name) is old:
                setattr(one, name, new)


def _imported(module):
    name = "ramphold." + module.removesuffix(".py").replace("/", ".").removesuffix(".__init__")
    return importlib.import_module(name)


def swap(module, top, source):
    """Put a function's code, out of another source of its module, in place of its own."""
    held = _imported(module)
    code = compile(source, held.__file__, "exec", dont_inherit=True)
    *classes, function = top.split(".")
    for one in classes:
        held, code = getattr(held, one), _inner(code, one)
    found = vars(held)[function]
    _function(found).__code__ = _inner(code, function)
    getattr(found, "cache_clear", bool)()


def _inner(code, name):
    named = [one for one in code.co_consts if getattr(one, "co_name", "") == name]
    return named[-1]


def _function(found):
    """The function within a property, a class method, a cache."""
    for name in ("fget", "func", "__func__", "__wrapped__"):
        if not isinstance(found, types.FunctionType) or name == "__wrapped__":
            found = getattr(found, name, found)
    return found


def main(file, out, jobs, *tests):
    swapper = Swapper(Path(file), Path(out), int(jobs))
    options = ["-q", "-s", "-p", "no:cacheprovider", "--hypothesis-seed=0"]
    return pytest.main([*options, *tests], plugins=[swapper, FirstFound()])


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
