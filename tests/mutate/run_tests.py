"""Run chosen tests in a copy of the tree: which blocks each reaches, or whether one fails.

    python -m mutate.run_tests reach FILE TESTS...
    python -m mutate.run_tests notice FILE TESTS...

With `reach` a line for each test goes to FILE once all tests of its file are done. With `notice`
FILE holds the tests to run in their order, with what each took; the first that fails ends it.
A test that takes far more processor time, or waits for far longer, is ended by a signal.
"""

import hashlib
import json
import signal
import sys
import time
from pathlib import Path

import pytest

#: A test may take this many times what it took without a mutant, and so many seconds besides.
TIMES, PROCESSOR_S, WAITING_S = 10, 10, 60
#: For imports and collection.
BEGINNING_S = 60
ENDED = {-signal.SIGPROF: "runs on and on", -signal.SIGALRM: "waits for ever"}


class Reach:
    """Which blocks each test reaches, and apart from them its fixtures, which others may share."""

    def __init__(self, file):
        self._file = file
        self._done = []
        self._failed = set()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self):
        result = yield
        self._done[-1]["fixtures"] = self._reached()
        return result

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item, nextitem):
        self._reached()
        one = {"test": item.nodeid, "of": digest(item.path), "fixtures": []}
        self._done.append(one)
        began_s, began_cpu_s = time.perf_counter(), time.process_time()
        result = yield
        one["s"] = round(time.perf_counter() - began_s, 3)
        one["cpu_s"] = round(time.process_time() - began_cpu_s, 3)
        one["blocks"] = self._reached()
        one["failed"] = item.nodeid in self._failed
        if nextitem is None or nextitem.path != item.path:
            with self._file.open("a", encoding="utf-8") as out:
                out.writelines(json.dumps(done) + "\n" for done in self._done)
            self._done = []
        return result

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self._failed.add(report.nodeid)

    def _reached(self):
        # Only a copy with its blocks marked has this module.
        from ramphold.reached import REACHED  # noqa: PLC0415

        found = sorted(REACHED)
        REACHED.clear()
        return found


class Notice:
    """Run the given tests alone, in their order, and name the one that fails."""

    def __init__(self, file):
        given = json.loads(file.read_text(encoding="utf-8"))
        self._took = {one["test"]: one for one in given}
        self._order = {one["test"]: number for number, one in enumerate(given)}
        _limit(BEGINNING_S, TIMES * BEGINNING_S)

    def pytest_collection_modifyitems(self, items):
        chosen = [one for one in items if one.nodeid in self._order]
        items[:] = sorted(chosen, key=lambda one: self._order[one.nodeid])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item):
        limit_test(self._took[item.nodeid])
        return (yield)

    def pytest_runtest_logreport(self, report):
        if report.failed:
            sys.stdout.write(f"\nNOTICED {report.nodeid}\n")


class FirstFound:
    """Take the first example that fails: to look for the least took up to a minute."""

    def pytest_sessionstart(self):
        # Not before pytest has said what of it is to be rewritten.
        from hypothesis import Phase, settings  # noqa: PLC0415

        phases = (Phase.explicit, Phase.generate)
        settings.register_profile("first found", settings.default, phases=phases)
        settings.load_profile("first found")


def digest(file):
    return hashlib.sha256(Path(file).read_bytes()).hexdigest()[:16]


def limit_test(took):
    _limit(TIMES * took["cpu_s"] + PROCESSOR_S, TIMES * took["s"] + WAITING_S)


def _limit(cpu_s, waiting_s):
    """Nothing catches these signals, so they end a loop within a library too."""
    signal.setitimer(signal.ITIMER_PROF, cpu_s)
    signal.setitimer(signal.ITIMER_REAL, waiting_s)


def main(kind, file, *tests):
    plugin = {"reach": Reach, "notice": Notice}[kind](Path(file))
    first = ["-x"] if kind == "notice" else []
    options = ["-q", "-p", "no:cacheprovider", "--hypothesis-seed=0", *first]
    return pytest.main([*options, *tests], plugins=[plugin, FirstFound()])


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
