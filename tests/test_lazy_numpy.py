"""numpy loads only where figures and probabilities need it: commands and screen start quickly.

It takes 12 MB, which the daemon of a press does without.
"""

import subprocess
import sys

import pytest

PROGRAM = """
import sys
from ramphold.cli import main
sys.argv = ["ramphold", *sys.argv[1:]]
try:
    main()
finally:
    print("numpy" in sys.modules, file=sys.stderr)
"""


#: The daemon's modules, and what it does with a run: kept, ended, looked at, packed, drawn.
DAEMON = """
import sys, tempfile
from pathlib import Path
import ramphold.cli.daemon
from ramphold.core import RunPlan
from ramphold.daemon._run_trace import run_trace
from ramphold.sample import SpecimenAdded
from ramphold.store import Store
from ramphold.store.file_damage import read_back, whole_look
from ramphold.testing.runs import GOOD_RUN, drawn, fed

plan, readings = RunPlan(target_psi=4000), drawn(GOOD_RUN)
tracker, events = fed(plan, readings)
with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "runs.sqlite3") as store:
    added = {"label": "a", "target_psi": 4000.0, "bore_in": 2.0, "operator": "KL", "utc_ns": 1}
    store.specimens.add(SpecimenAdded(**added))
    run = store.runs.begin(specimen=1, operator="KL", plan=plan, t_ns=0, utc_ns=0)
    store.runs.append(run, readings=readings[:100])
    read_back(store.path, run)
    verdict = {"assessment": tracker.assess(), "utc_ns": 0}
    store.runs.end(run, readings=readings[100:], events=events, **verdict)
    list(whole_look(store.path))
    assert store.runs.pack() == (run,)
    trace = store.runs.trace(run)
    assert len(trace) == len(readings)
    assert run_trace(store.runs.one(run), trace, events, 400).load_psi
print("numpy" in sys.modules, file=sys.stderr)
"""


def was_loaded(*program):
    done = subprocess.run(
        [sys.executable, "-c", *program], capture_output=True, text=True, check=True
    )
    return done.stderr.splitlines()[-1]


@pytest.mark.parametrize(
    "command", [("--help",), ("calc", "force", "--stress", "4000psi"), ("watch", "--help")]
)
def test_help_and_calculations_do_not_load_it(command):
    assert was_loaded(PROGRAM, *command) == "False"


def test_the_screen_starts_without_it():
    program = 'import sys, ramphold_tui.app; print("numpy" in sys.modules, file=sys.stderr)'
    assert was_loaded(program) == "False"


def test_the_screen_starts_without_what_reads_ports():
    program = (
        "import sys, ramphold.cli.watch;"
        'print(bool({"serial", "ramphold.daemon"} & sys.modules.keys()), file=sys.stderr)'
    )
    assert was_loaded(program) == "False"


def test_the_collector_checks_and_files_without_it():
    program = (
        "import sys, ramphold.collector.main, ramphold.cli.collect;"
        'print("numpy" in sys.modules, file=sys.stderr)'
    )
    assert was_loaded(program) == "False"


def test_the_daemon_keeps_a_run_and_draws_it_without_it():
    assert was_loaded(DAEMON) == "False"


def test_the_figures_of_a_report_load_it():
    program = 'import sys, ramphold.report; print("numpy" in sys.modules, file=sys.stderr)'
    assert was_loaded(program) == "True"


def test_a_command_is_loaded_without_a_look_for_garbage_which_goes_on_after_it():
    program = (
        "import gc, sys; from ramphold.cli import cli; looks = [];"
        "gc.callbacks.append(lambda phase, info: looks.append(phase));"
        "cli.get_command(None, 'watch'); during = len(looks);"
        "kept = [[] for _ in range(2000)];"
        "print(during, len(looks) > 0, gc.get_freeze_count() > 20_000, file=sys.stderr)"
    )
    assert was_loaded(program) == "0 True True"
