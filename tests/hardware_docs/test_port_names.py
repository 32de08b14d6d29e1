import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

# The words that udev(7) publishes for what our rules do.
MATCH = {"SUBSYSTEM", "SUBSYSTEMS", "KERNELS", "ATTRS{serial}"}
ASSIGN = {"SYMLINK": "+=", "ENV{ID_MM_DEVICE_IGNORE}": "="}


@pytest.fixture(scope="module")
def rules(hardware: Path) -> list[dict[str, tuple[str, str]]]:
    lines = (hardware / "60-ramphold.rules").read_text().splitlines()
    return [parsed(line) for line in lines if line and not line.startswith("#")]


def parsed(rule: str) -> dict[str, tuple[str, str]]:
    parts = re.findall(r'\s*([A-Z_]+(?:\{\w+\})?)(==|\+=|=)"([^"]*)"(?:,|$)', rule)
    assert ", ".join(f'{key}{op}"{value}"' for key, op, value in parts) == rule
    return {key: (op, value) for key, op, value in parts}


def test_each_rule_matches_before_it_assigns_and_uses_known_words(rules):
    assert len(rules) == 2
    for rule in rules:
        assert {k for k, (op, _) in rule.items() if op == "=="} <= MATCH
        assert {k: op for k, (op, _) in rule.items() if op != "=="} == ASSIGN


def test_an_adapter_is_known_by_the_serial_number_of_its_usb_device(rules):
    for rule in rules:
        assert rule["SUBSYSTEM"] == ("==", "tty")
        assert rule["SUBSYSTEMS"] == ("==", "usb")
        assert rule["ATTRS{serial}"][1].startswith("WRITE-")
    assert len({rule["ATTRS{serial}"] for rule in rules}) == len(rules)


def test_the_names_are_the_ports_of_the_example_bench(rules, hardware: Path):
    bench = tomllib.loads((hardware.parent / "systemd/bench.example.toml").read_text())
    assert [f"/dev/{rule['SYMLINK'][1]}" for rule in rules] == [
        bench["load"]["port"],
        bench["balance"]["port"],
    ]


@pytest.mark.skipif(shutil.which("udevadm") is None, reason="no udevadm here: apt-get install udev")
def test_udev_itself_finds_no_fault(hardware: Path):
    known = subprocess.run(["udevadm", "--version"], check=True, capture_output=True, text=True)
    if int(known.stdout.split()[0]) < 254:
        pytest.skip("udevadm verify came with version 254")
    done = subprocess.run(
        ["udevadm", "verify", "--no-summary", str(hardware / "60-ramphold.rules")],
        check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert (done.returncode, done.stdout + done.stderr) == (0, "")
