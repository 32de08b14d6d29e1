"""The nightly copy: its command is valid, may write where it must, and runs every night."""

import configparser
import shlex
from pathlib import Path

import pytest

from ramphold.cli.backup import command

SYSTEMD = Path(__file__).parents[2] / "systemd"


def unit(name):
    found = configparser.RawConfigParser(strict=False)
    found.optionxform = str
    found.read(SYSTEMD / name)
    return found


@pytest.fixture
def service():
    return unit("ramphold-backup.service")["Service"]


def test_the_command_is_ours_with_options_that_there_are_and_keeps_seven(service):
    program, name, *rest = shlex.split(service["ExecStart"])
    assert (program, name) == ("/opt/ramphold/current/bin/ramphold", "backup")
    given = dict(zip(rest[::2], rest[1::2], strict=True))
    assert given.keys() <= {name for option in command.params for name in option.opts}
    assert given["--keep"] == "7"
    assert given["--config"] == "/etc/ramphold/bench.toml"
    assert given["--to"] in service["ReadWritePaths"].split()


def test_it_runs_as_the_owner_of_the_database_and_its_copies_are_nobody_elses(service):
    daemon = unit("ramphold.service")["Service"]
    assert service["User"] == daemon["User"]
    assert service["UMask"] == "0077"
    folders = (SYSTEMD / "ramphold.tmpfiles").read_text()
    assert "d /var/backups/ramphold 0700 ramphold ramphold -" in folders


def test_it_runs_every_night_and_makes_up_for_a_night_off():
    timer = unit("ramphold-backup.timer")["Timer"]
    assert timer["OnCalendar"].startswith("*-*-* 0")
    assert timer["Persistent"] == "true"


def test_the_installer_puts_both_in_place_and_enables_the_timer():
    script = (SYSTEMD / "install.sh").read_text()
    units = script.partition('units="')[2].partition('"')[0].split()
    assert {"ramphold-backup.service", "ramphold-backup.timer"} <= set(units)
    (enable,) = [line for line in script.splitlines() if "enable -q ramphold.service" in line]
    assert "ramphold-backup.timer" in enable.split()
