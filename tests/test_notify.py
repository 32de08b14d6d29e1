"""The datagrams of sd_notify(3), received on real sockets as a service manager would."""

import os
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.notify import Notifier

PID = 4711


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as sock:
        sock.bind(str(tmp_path / "notify"))
        sock.settimeout(0)
        yield sock


@pytest.fixture
def notifier(manager: socket.socket) -> Notifier:
    return Notifier(address=manager.getsockname())


def test_ready_arrives_as_the_assignment_that_the_manager_waits_for(manager, notifier):
    assert notifier.ready()
    assert manager.recv(4096) == b"READY=1"


def test_ready_can_carry_a_status_in_the_same_datagram(manager, notifier):
    notifier.ready("waiting for the load port")
    assert manager.recv(4096) == b"READY=1\nSTATUS=waiting for the load port"


def test_alive_feeds_the_watchdog(manager, notifier):
    assert notifier.alive()
    assert manager.recv(4096) == b"WATCHDOG=1"


def test_status_is_sent_alone_in_utf_8(manager, notifier):
    assert notifier.status("hold at 27.6 MPa ± 2 %")
    assert manager.recv(4096) == "STATUS=hold at 27.6 MPa ± 2 %".encode()


def test_stopping_is_said_with_its_reason(manager, notifier):
    assert notifier.stopping("told to stop")
    assert manager.recv(4096) == b"STOPPING=1\nSTATUS=told to stop"


def test_each_call_is_a_datagram_of_its_own(manager, notifier):
    notifier.ready()
    notifier.alive()
    notifier.stopping()
    assert [manager.recv(4096) for _ in range(3)] == [b"READY=1", b"WATCHDOG=1", b"STOPPING=1"]
    with pytest.raises(BlockingIOError):
        manager.recv(4096)


def test_an_abstract_socket_is_reached_by_its_name_with_an_at_sign():
    name = f"ramphold-test-{os.getpid()}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as sock:
        sock.bind("\0" + name)
        assert Notifier(address="@" + name).ready()
        assert sock.recv(4096) == b"READY=1"


@given(st.text())
def test_no_status_text_can_smuggle_in_an_assignment_or_raise(text: str):
    name = f"ramphold-text-{os.getpid()}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as sock:
        sock.bind("\0" + name)
        sock.settimeout(0)
        assert Notifier(address="@" + name).ready(text)
        lines = sock.recv(65536).decode().splitlines()
    assert lines[0] == "READY=1"
    assert len(lines) <= 2
    assert all(line.startswith("STATUS=") for line in lines[1:])


def test_a_text_that_is_no_valid_unicode_is_still_told(manager, notifier):
    assert notifier.status("port \udcff")
    assert manager.recv(4096) == b"STATUS=port ?"


def test_without_a_manager_nothing_is_told_and_nothing_raised():
    nobody = Notifier.from_environ({}, PID)
    assert nobody == Notifier(address=None, watchdog_s=None)
    assert not nobody.ready()
    assert not nobody.alive()
    assert nobody.feed_every_s is None


@pytest.mark.parametrize(
    "address",
    ["/nowhere/at/all", "@nobody-is-bound-here", "/" + "x" * 200, "@" + "x" * 200],
    ids=["missing", "abstract, missing", "path too long", "abstract, too long"],
)
def test_a_manager_that_cannot_be_reached_is_no_error(address):
    assert not Notifier(address=address).alive()


def test_a_manager_that_went_away_is_no_error(manager, notifier):
    assert notifier.ready()
    manager.close()
    assert not notifier.alive()


def test_a_manager_that_does_not_read_never_blocks_the_caller(manager, notifier):
    sent = 0
    while notifier.alive():
        sent += 1
        assert sent < 1_000_000
    assert sent > 0
    assert manager.recv(4096) == b"WATCHDOG=1"
    assert notifier.alive()


def test_socket_and_watchdog_time_come_from_the_managers_variables():
    told = Notifier.from_environ(
        {"NOTIFY_SOCKET": "/run/notify", "WATCHDOG_USEC": "10000000", "WATCHDOG_PID": "4711"}, PID
    )
    assert told == Notifier(address="/run/notify", watchdog_s=10.0)
    assert told.feed_every_s == 5.0


def test_a_watchdog_without_a_process_number_is_meant_for_us():
    assert Notifier.from_environ({"WATCHDOG_USEC": "2500000"}, PID).watchdog_s == 2.5


def test_a_watchdog_meant_for_another_process_is_not_ours():
    told = Notifier.from_environ({"WATCHDOG_USEC": "10000000", "WATCHDOG_PID": "1"}, PID)
    assert told.watchdog_s is None


@pytest.mark.parametrize("wait_us", ["", "0", "-5", "soon", "1.5", "²"])
def test_a_watchdog_time_that_makes_no_sense_counts_as_none(wait_us):
    assert Notifier.from_environ({"WATCHDOG_USEC": wait_us}, PID).watchdog_s is None


@pytest.mark.parametrize("address", ["", "vsock:2:1234", "relative/path"])
def test_an_address_of_a_kind_we_do_not_speak_is_not_used(address):
    assert Notifier.from_environ({"NOTIFY_SOCKET": address}, PID).address is None
