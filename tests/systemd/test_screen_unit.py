"""The screen on the console: its unit, and the unit that restarts the program after an upgrade."""

import re
from pathlib import Path

import pytest

from support.systemd import analyze, sections

SYSTEMD = Path(__file__).parents[2] / "systemd"
SCREEN = SYSTEMD / "ramphold-screen.service"
EXECUTED = re.compile(r"(?m)^(ExecStart(?:Pre)?=[-+]*)\S+")


@pytest.fixture(scope="module")
def settings():
    return sections(SCREEN)


@pytest.mark.root
@pytest.mark.parametrize(
    "name", ["ramphold-screen.service", "ramphold-restart.service", "ramphold-restart.path"]
)
def test_systemd_has_nothing_to_say_about_the_unit(tmp_path, name):
    for unit in SYSTEMD.glob("ramphold*.*"):
        (tmp_path / unit.name).write_text(EXECUTED.sub(r"\1/bin/true", unit.read_text()))
    assert analyze("verify", tmp_path / name) == (0, "")


@pytest.mark.root
def test_the_sandbox_keeps_exposure_under_two_of_ten():
    status, said = analyze("security", "--offline=true", "--threshold=20", SCREEN)
    assert status == 0, said


def test_it_starts_again_for_ever_and_is_the_program_itself(settings):
    service = settings["Service"]
    assert (service["Restart"], settings["Unit"]["StartLimitIntervalSec"]) == ("always", "0")
    assert service["ExecStart"].split()[0] == "/opt/ramphold/current/bin/ramphold"


def test_its_terminal_is_the_first_console_and_no_other_device_but_sound(settings):
    service = settings["Service"]
    assert service["TTYPath"] == "/dev/tty1"
    assert service["DevicePolicy"] == "closed"
    allowed = re.findall(r"(?m)^DeviceAllow=(\S+) rw$", SCREEN.read_text())
    assert allowed == ["/dev/tty1", "char-alsa"]


def test_it_gives_up_nothing_of_what_the_daemons_unit_forbids(settings):
    other = sections(SYSTEMD / "ramphold.service")
    words = ("Protect", "Private", "NoNew", "Capability", "Ambient", "Lock", "Memory", "Remove",
             "Keyring", "SystemCall", "RestrictN", "RestrictS", "RestrictR")  # fmt: skip
    forbidden = {k: v for k, v in other["Service"].items() if k.startswith(words)}
    # The daemon's last line lets it ask for the state of the clock; the screen has no need.
    assert forbidden.pop("SystemCallFilter") == "adjtimex clock_adjtime"
    assert settings["Service"]["SystemCallFilter"] == "~@privileged @resources"
    assert len(forbidden) >= 17
    assert forbidden.items() <= settings["Service"].items()
    assert settings["Service"]["RestrictAddressFamilies"] == "AF_UNIX"


def test_an_upgrade_without_root_can_ask_for_a_restart_and_for_nothing_else():
    path = (SYSTEMD / "ramphold-restart.path").read_text()
    service = (SYSTEMD / "ramphold-restart.service").read_text()
    assert re.findall(r"(?m)^Path\w+=(.*)$", path) == ["/opt/ramphold/restart"]
    assert re.findall(r"(?m)^Exec\w+=(.*)$", service) == [
        "systemctl try-restart ramphold.service ramphold-screen.service"
    ]
