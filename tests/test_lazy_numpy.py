"""numpy loads only where a trace is worked on, and so on: commands and screen start quickly."""

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


def test_a_trace_loads_it():
    program = 'import sys, ramphold.core.trace; print("numpy" in sys.modules, file=sys.stderr)'
    assert was_loaded(program) == "True"
