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
    units = re.search(r'(?ms)^units="(.*?)"$', script)[1].split()
    assert len(files) >= 8
    assert [name for name in files if not (ROOT / name).is_file() and name != "wheels"] == []
    assert [name for name in units if not (SYSTEMD / name).is_file()] == []


def test_program_and_configuration_are_where_the_unit_looks_for_them(script, unit):
    prefix = re.search(r"(?m)^prefix=(\S+)$", script)
    config = re.search(r"(?m)^config=(\S+)$", script)
    assert prefix is not None
    assert config is not None
    assert f"\nExecStart={prefix[1]}/current/bin/ramphold daemon --config {config[1]}\n" in unit


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--screens"], "expected --upgrade, --uninstall, --screen, --window, --keyboard or "),
        (["--keyboard"], "expected a value after --keyboard"),
        (["--keyboard", "de; reboot"], "--keyboard: expected a name without spaces, not 'de; "),
        (["--time-server", ""], "--time-server: expected a name without spaces, not ''"),
    ],
)
def test_a_wrong_option_is_refused_in_one_line(arguments, told):
    done = subprocess.run(
        ["sh", SCRIPT, *arguments], check=False, capture_output=True, text=True, cwd="/"
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"install.sh: {told}")
    assert done.stderr.count("\n") == 1


def test_its_help_is_its_head_and_names_every_option(script):
    done = subprocess.run(["sh", SCRIPT, "-h"], check=True, capture_output=True, text=True)
    known = set(re.findall(r"(?m)^ +(--[a-z-]+)(?: \||\))", script)) - {"--help"}
    assert len(known) >= 5
    assert {one for one in known if one not in done.stdout} == set()


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
