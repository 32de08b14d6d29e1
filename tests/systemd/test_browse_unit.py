"""The unit of the laboratory's page, checked with systemd's own tools: it may write nowhere."""

import re
from pathlib import Path

import pytest

from ramphold.browse.config import load_config
from support.systemd import analyze, sections

SYSTEMD = Path(__file__).parents[2] / "systemd"
UNIT = SYSTEMD / "ramphold-browse.service"


def section(name):
    return sections(SYSTEMD / name)["Service"]


@pytest.fixture
def service():
    return section(UNIT.name)


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


def test_it_may_do_no_more_than_the_collector_and_has_no_folder_to_write_in(service):
    words = ("Protect", "Restrict", "Private", "NoNew", "Capability", "Ambient", "Lock",
             "MemoryDeny", "Remove", "Keyring", "SystemCall", "Device")  # fmt: skip
    collector = section("ramphold-collector.service")
    forbidden = {key: value for key, value in collector.items() if key.startswith(words)}
    assert len(forbidden) >= 20
    assert forbidden.items() <= service.items()
    for writable in ("StateDirectory", "CacheDirectory", "LogsDirectory", "ReadWritePaths"):
        assert writable not in service


def test_it_is_a_user_of_its_own_in_the_group_that_may_read_the_archive(service):
    rows = (SYSTEMD / "ramphold-collector.sysusers").read_text().splitlines()
    assert f'u {service["User"]} - "Ramphold browse" -' in rows
    collector = section("ramphold-collector.service")
    assert service["User"] != collector["User"]
    assert service["SupplementaryGroups"] == collector["Group"]
    # Its files are the group's to read, also those beside a database that is in use.
    assert (collector["StateDirectoryMode"], collector["UMask"]) == ("0750", "0027")


def test_the_example_configuration_is_valid_and_reads_the_collectors_archive(service):
    config = load_config(SYSTEMD / "browse.example.toml")
    config.check()
    assert config.host == "127.0.0.1"
    assert config.archive == "/var/lib/ramphold-collector/archive.db"
    assert service["ExecStart"].endswith(" --config /etc/ramphold-collector/browse.toml")
