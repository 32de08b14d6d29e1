import os
import re
import subprocess
import tomllib
from pathlib import Path

import pytest

from ramphold import wire
from ramphold.daemon.config import load_config

ROOT = Path(__file__).parents[2]
SYSTEMD = ROOT / "systemd"
SCRIPT = SYSTEMD / "install.sh"
NOBODY = 65534


@pytest.fixture(scope="module")
def script() -> str:
    return SCRIPT.read_text()


@pytest.fixture(scope="module")
def unit() -> str:
    return (SYSTEMD / "ramphold.service").read_text()


def test_the_script_is_valid_posix_shell():
    done = subprocess.run(["sh", "-n", str(SCRIPT)], check=False, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert os.access(SCRIPT, os.X_OK)


def test_without_root_it_changes_nothing_and_says_how_to_call_it(script):
    as_user = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}
    done = subprocess.run(
        ["sh", "-s"], input=script, check=False, capture_output=True, text=True, cwd="/", **as_user
    )
    assert done.returncode == 2
    assert done.stderr.splitlines() == [
        "install.sh: expected to run as root: sudo sh systemd/install.sh"
    ]
    assert done.stdout == ""


def test_every_file_that_it_installs_is_in_the_checkout(script):
    files = re.findall(r'"\$checkout/([\w./-]+)"', script)
    assert len(files) == 5
    assert [name for name in files if not (ROOT / name).is_file()] == []


def test_program_and_configuration_are_where_the_unit_looks_for_them(script, unit):
    prefix = re.search(r"(?m)^prefix=(\S+)$", script)
    config = re.search(r"(?m)^config=(\S+)$", script)
    assert prefix is not None
    assert config is not None
    assert f"\nExecStart={prefix[1]}/bin/ramphold daemon --config {config[1]}\n" in unit


def test_its_last_step_is_the_check_as_the_daemons_own_user(script):
    assert script.rstrip().endswith("\ncheck")
    assert 'runuser -u ramphold -- "$prefix/bin/ramphold" check --config "$config"' in script


def test_the_example_bench_is_a_valid_configuration_with_known_line_shapes():
    bench = load_config(SYSTEMD / "bench.example.toml")
    assert bench.load.profile in wire.LOAD_PROFILES
    assert bench.balance is not None
    assert bench.balance.profile in wire.MASS_PROFILES


def test_the_example_bench_keeps_its_files_where_the_unit_lets_the_daemon_write(unit):
    bench = tomllib.loads((SYSTEMD / "bench.example.toml").read_text())
    assert "\nStateDirectory=ramphold\n" in unit
    assert "\nRuntimeDirectory=ramphold\n" in unit
    assert Path(bench["store"]["path"]).parent == Path("/var/lib/ramphold")
    assert Path(bench["control"]["socket"]).parent == Path("/run/ramphold")
