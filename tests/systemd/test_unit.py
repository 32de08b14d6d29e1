"""The unit, checked with systemd's own tools."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from support.systemd import analyze, sections

SYSTEMD = Path(__file__).parents[2] / "systemd"
UNIT = SYSTEMD / "ramphold.service"


def run(*command: object) -> tuple[int, str]:
    done = subprocess.run(
        [str(c) for c in command],
        check=False,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    return done.returncode, done.stdout


def verified(text: str, folder: Path) -> tuple[int, str]:
    """What systemd says of a unit, with a program that every machine has."""
    text, found = re.subn(r"(?m)^ExecStart=\S+", "ExecStart=/bin/true", text)
    assert found == 1
    copy = folder / UNIT.name
    copy.write_text(text)
    return analyze("verify", copy)


@pytest.fixture(scope="module")
def settings() -> dict[str, dict[str, str]]:
    return sections(UNIT)


@pytest.mark.root
def test_systemd_has_nothing_to_say_about_the_unit(tmp_path):
    assert verified(UNIT.read_text(), tmp_path) == (0, "")


@pytest.mark.root
def test_systemd_would_have_named_a_misspelt_key(tmp_path):
    misspelt = UNIT.read_text().replace("WatchdogSec=", "WatchdogSecs=")
    assert "'WatchdogSecs'" in verified(misspelt, tmp_path)[1]


@pytest.mark.root
def test_the_sandbox_keeps_exposure_under_two_of_ten():
    status, said = analyze("security", "--offline=true", "--threshold=20", UNIT)
    assert status == 0, said


@pytest.mark.root
def test_an_open_unit_would_have_failed_that_threshold(tmp_path):
    (tmp_path / "open.service").write_text("[Service]\nExecStart=/bin/true\n")
    status, _ = analyze("security", "--offline=true", "--threshold=20", tmp_path / "open.service")
    assert status != 0


def test_the_manager_waits_for_ready_and_watches_that_readings_are_processed(settings):
    service = settings["Service"]
    assert service["Type"] == "notify"
    assert service["NotifyAccess"] == "main"
    assert 2 <= float(service["WatchdogSec"]) <= 30
    assert service["Restart"] == "always"
    assert settings["Unit"]["StartLimitIntervalSec"] == "0"


def test_the_daemon_may_use_serial_ports_and_gpio_lines_and_no_other_device():
    text = UNIT.read_text()
    assert "DevicePolicy=closed" in text
    assert re.findall(r"(?m)^DeviceAllow=(\S+) rw$", text) == [
        "char-ttyUSB",
        "char-ttyACM",
        "char-gpiochip",
    ]
    assert text.count("DeviceAllow=") == 3


def test_drivers_of_serial_adapters_are_loaded_first_since_unknown_devices_stay_forbidden(settings):
    # systemd.resource-control(5), DeviceAllow=
    for key in ("Wants", "After"):
        assert {"modprobe@usbserial.service", "modprobe@cdc_acm.service"} <= set(
            settings["Unit"][key].split()
        )


def test_groups_and_users_of_the_units_are_those_that_sysusers_makes(settings):
    lines = (SYSTEMD / "ramphold.sysusers").read_text().splitlines()
    rows = [line.split() for line in lines if line and not line.startswith("#")]
    screen = (SYSTEMD / "ramphold-screen.service").read_text()
    (screens_user,) = re.findall(r"(?m)^User=(\S+)$", screen)
    service = settings["Service"]
    assert service["User"] == service["Group"]
    assert {row[1] for row in rows if row[0] == "u"} == {service["User"], screens_user}
    assert {row[1] for row in rows if row[0] == "g"} == {"dialout", "gpio", "audio"}
    assert {tuple(row[1:]) for row in rows if row[0] == "m"} == {
        *((service["User"], group) for group in service["SupplementaryGroups"].split()),
        (screens_user, service["User"]),
        (screens_user, "audio"),
    }


@pytest.mark.root
@pytest.mark.skipif(
    shutil.which("systemd-sysusers") is None or shutil.which("systemd-tmpfiles") is None,
    reason="no systemd-sysusers or systemd-tmpfiles here: apt-get install systemd",
)
def test_systemd_makes_user_groups_and_folders_and_a_second_time_changes_nothing(tmp_path):
    if os.geteuid() != 0:
        pytest.skip("only root may give folders away")
    for kind in ("sysusers", "tmpfiles"):
        folder = tmp_path / f"etc/{kind}.d"
        folder.mkdir(parents=True)
        shutil.copy(SYSTEMD / f"ramphold.{kind}", folder / "ramphold.conf")

    def made() -> tuple[str, str, list[str]]:
        assert run("systemd-sysusers", f"--root={tmp_path}", "ramphold.conf")[0] == 0
        assert run("systemd-tmpfiles", f"--root={tmp_path}", "--create", "ramphold.conf") == (0, "")
        folders = [tmp_path / "etc/ramphold", tmp_path / "var/lib/ramphold"]
        return (
            (tmp_path / "etc/passwd").read_text(),
            (tmp_path / "etc/group").read_text(),
            [f"{f.stat().st_mode & 0o7777:o} {f.stat().st_uid} {f.stat().st_gid}" for f in folders],
        )

    passwd, group, folders = made()
    users = {line.split(":")[0]: line.split(":") for line in passwd.splitlines()}
    assert set(users) == {"ramphold", "ramphold-screen"}
    assert {row[-1] for row in users.values()} == {"/usr/sbin/nologin"}
    uid, gid = users["ramphold"][2:4]
    groups = {line.split(":")[0] for line in group.splitlines()}
    assert groups == {"ramphold", "ramphold-screen", "dialout", "gpio", "audio"}
    assert folders == [f"750 0 {gid}", f"750 {uid} {gid}"]
    assert made() == (passwd, group, folders)
