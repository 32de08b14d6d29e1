"""The collector's unit, checked with systemd's own tools."""

import re
import tomllib
from pathlib import Path

import pytest

from ramphold.collector.config import load_config
from support.systemd import analyze, sections

SYSTEMD = Path(__file__).parents[2] / "systemd"
UNIT = SYSTEMD / "ramphold-collector.service"


@pytest.fixture(scope="module")
def settings():
    return sections(UNIT)


@pytest.mark.root
def test_systemd_has_nothing_to_say_about_the_unit(tmp_path):
    text, found = re.subn(r"(?m)^ExecStart=\S+", "ExecStart=/bin/true", UNIT.read_text())
    assert found == 1
    (tmp_path / UNIT.name).write_text(text)
    assert analyze("verify", tmp_path / UNIT.name) == (0, "")


@pytest.mark.root
def test_the_sandbox_keeps_exposure_under_one_and_a_half_of_ten():
    status, said = analyze("security", "--offline=true", "--threshold=15", UNIT)
    assert status == 0, said


def test_it_gives_up_nothing_of_what_the_daemons_unit_forbids(settings):
    other = sections(SYSTEMD / "ramphold.service")
    words = ("Protect", "Restrict", "Private", "NoNew", "Capability", "Ambient", "Lock", "Memory",
             "Remove", "Keyring", "SystemCall")  # fmt: skip
    forbidden = {
        key: value
        for key, value in other["Service"].items()
        if key.startswith(words) and key not in {"PrivateDevices", "SystemCallFilter"}
    }
    assert len(forbidden) >= 20
    # The daemon's last line lets it ask for the state of the clock; the collector has no need.
    assert settings["Service"]["SystemCallFilter"] == "~@privileged @resources"
    assert forbidden.items() <= settings["Service"].items()
    assert settings["Service"]["PrivateDevices"] == "yes"


def test_the_manager_waits_for_ready_and_has_patience_for_a_database_that_does_not_answer(settings):
    service = settings["Service"]
    assert (service["Type"], service["Restart"]) == ("notify", "always")
    assert settings["Unit"]["StartLimitIntervalSec"] == "0"
    # A statement times out after 30 s, and a try is repeated after 30 s at most.
    assert float(service["WatchdogSec"]) > 2 * (30 + 30) - 1
    assert float(service["TimeoutStopSec"]) > 30


def test_its_user_is_the_one_that_sysusers_makes(settings):
    lines = (SYSTEMD / "ramphold-collector.sysusers").read_text().splitlines()
    row, _ = [line.split() for line in lines if line and not line.startswith("#")]
    assert row[:2] == ["u", settings["Service"]["User"]]
    assert settings["Service"]["Group"] == settings["Service"]["User"]


def test_the_example_configuration_is_valid_and_its_files_are_where_the_unit_lets_it(settings):
    file = SYSTEMD / "collect.example.toml"
    assert load_config(file).broker.port == 8883
    given = tomllib.loads(file.read_text())
    state = Path("/var/lib") / settings["Service"]["StateDirectory"]
    folder = Path("/etc") / settings["Service"]["ConfigurationDirectory"]
    assert Path(given["archive"]).parent == state
    for key in ("ca", "certificate", "key"):
        assert Path(given["broker"][key]).parent == folder
    assert str(folder / "collect.toml") in settings["Service"]["ExecStart"]
