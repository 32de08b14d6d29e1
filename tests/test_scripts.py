"""Every shell script of the project, as shellcheck sees it."""

import subprocess
from pathlib import Path

import pytest

from support.broker import needed

ROOT = Path(__file__).parents[1]
SCRIPTS = sorted([ROOT / ".ci/run", *ROOT.glob("systemd/**/*.sh"), *ROOT.glob("tests/**/*.sh")])


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_shellcheck_finds_no_fault(script):
    done = subprocess.run(
        [needed("shellcheck"), "-x", script], check=False, capture_output=True, text=True, cwd=ROOT
    )
    assert (done.returncode, done.stdout) == (0, "")


def test_all_scripts_are_found():
    assert [path.name for path in SCRIPTS] == [
        "run",
        "certificates.sh",
        "bundle.sh",
        "console-font.sh",
        "install.sh",
        "bench-checks.sh",
        "bench.sh",
        "debian.sh",
    ]


def test_the_demo_installs_the_program_and_no_tool_of_its_developers():
    asked = [needed("make"), "--dry-run", "--always-make"]
    said = [
        subprocess.run([*asked, goal], check=True, capture_output=True, text=True, cwd=ROOT).stdout
        for goal in ("demo", "test")
    ]
    assert ["[dev]" in one for one in said] == [False, True]
    assert all(" -e ." in one for one in said)
