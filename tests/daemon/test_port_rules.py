"""udev names each instrument's adapter by what tells it from the others."""

import shutil
import subprocess

import pytest

from ramphold.daemon.port_rules import can_be_named, port_rules
from ramphold.instruments import Adapter, find_adapters


def adapter(name, serial="", path="", interface="00"):
    return Adapter(name=name, device=name, serial=serial, path=path, interface=interface)


A = adapter("a", "A1", "pci-usb-0:1:1.0")
B = adapter("b", "B2", "pci-usb-0:2:1.0")


def rules(load, balance, *others):
    text = port_rules({"load": load, "balance": balance}, [load, balance, *others])
    return [line for line in text.splitlines() if not line.startswith("#")]


def test_adapters_with_serial_numbers_of_their_own_are_known_by_those():
    load, balance = rules(A, B)
    assert 'SUBSYSTEMS=="usb", ATTRS{serial}=="A1", SYMLINK+="ramphold-load"' in load
    assert 'SUBSYSTEMS=="usb", ATTRS{serial}=="B2", SYMLINK+="ramphold-balance"' in balance


def test_two_ports_of_one_adapter_are_told_apart_by_their_interface():
    load, balance = rules(adapter("a", "A1", interface="00"), adapter("b", "A1", interface="01"))
    assert 'ENV{ID_SERIAL_SHORT}=="A1", ENV{ID_USB_INTERFACE_NUM}=="00"' in load
    assert 'ENV{ID_USB_INTERFACE_NUM}=="01"' in balance


def test_adapters_of_one_serial_number_or_none_are_known_by_their_sockets():
    load, balance = rules(adapter("a", "0001", "pci-1"), adapter("b", "0001", "pci-2"))
    assert 'IMPORT{builtin}="path_id", ENV{ID_PATH}=="pci-1"' in load
    assert 'ENV{ID_PATH}=="pci-2"' in balance
    assert 'ENV{ID_PATH}=="pci-3"' in rules(adapter("c", "", "pci-3"), B)[0]


def test_one_that_has_neither_gets_no_name_and_no_serial_number_ends_a_rule():
    assert not can_be_named(adapter("a"))
    assert not can_be_named(adapter("a", 'A1", RUN+="/bin/sh'))
    assert 'ENV{ID_PATH}=="pci-1"' in rules(adapter("a", 'x"', "pci-1"), B)[0]


@pytest.mark.skipif(shutil.which("udevadm") is None, reason="no udevadm here: apt-get install udev")
@pytest.mark.parametrize("balance", [B, adapter("b", "A1", interface="01"), adapter("b", "", "p")])
def test_udev_itself_finds_no_fault(balance, tmp_path):
    known = subprocess.run(["udevadm", "--version"], check=True, capture_output=True, text=True)
    if int(known.stdout.split()[0]) < 254:
        pytest.skip("udevadm verify came with version 254")
    (path := tmp_path / "60-ramphold.rules").write_text("\n".join(rules(A, balance)) + "\n")
    done = subprocess.run(
        ["udevadm", "verify", "--no-summary", str(path)],
        check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert (done.returncode, done.stdout + done.stderr) == (0, "")


def test_an_adapter_is_found_once_by_its_serial_number_and_else_by_its_socket(tmp_path):
    for how in ("by-id", "by-path"):
        (tmp_path / "dev/serial" / how).mkdir(parents=True)
    for port in ("ttyUSB0", "ttyUSB1"):
        (tmp_path / "dev" / port).touch()
        (tmp_path / "dev/serial/by-path" / f"pci-{port}").symlink_to(tmp_path / "dev" / port)
    (tmp_path / "dev/serial/by-id/usb-A1").symlink_to(tmp_path / "dev/ttyUSB0")
    (tmp_path / "dev/serial/by-id/usb-gone").symlink_to(tmp_path / "dev/ttyUSB9")
    found = [one.name.removeprefix(str(tmp_path)) for one in find_adapters(tmp_path)]
    assert found == ["/dev/serial/by-id/usb-A1", "/dev/serial/by-path/pci-ttyUSB1"]
    assert find_adapters(tmp_path / "none") == []
