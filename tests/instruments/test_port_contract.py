"""One body for every port: what `Port` promises holds for each, and for the scripted one too."""

import os
import socket
import struct
import threading
import tty

import pytest

from ramphold.errors import PortError
from ramphold.instruments import READ_WAIT_S, PortSettings, SerialPort
from ramphold.testing import ScriptedPort


class Terminal:
    """The far end of a pseudo-terminal."""

    def __init__(self):
        self._ours, theirs = os.openpty()
        tty.setraw(theirs)
        self._open = [self._ours, theirs]
        self.port = SerialPort(PortSettings(port=os.ttyname(theirs)))

    def send(self, data):
        os.write(self._ours, data)

    def received(self, size):
        data = b""
        while len(data) < size:
            data += os.read(self._ours, size)
        return data

    def vanish(self):
        while self._open:
            os.close(self._open.pop())


class Network:
    """The far end of a serial-to-network converter."""

    def __init__(self):
        with socket.create_server(("127.0.0.1", 0)) as server:
            address = f"socket://127.0.0.1:{server.getsockname()[1]}"
            self.port = SerialPort(PortSettings(port=address))
            self._peer, _ = server.accept()

    def send(self, data):
        self._peer.sendall(data)

    def received(self, size):
        return self._peer.recv(size, socket.MSG_WAITALL)

    def vanish(self):
        self._peer.close()

    def reset(self):
        linger_for_nothing = struct.pack("ii", 1, 0)
        self._peer.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, linger_for_nothing)
        self._peer.close()


@pytest.fixture(params=[Terminal, pytest.param(Network, marks=pytest.mark.slow)])
def far(request):
    far = request.param()
    yield far
    far.port.close()
    far.vanish()


def read_all(port, size):
    data = b""
    while len(data) < size:
        data += port.read()
    return data


def test_bytes_that_come_are_read_as_they_are(far):
    sent = bytes(range(256))
    far.send(sent)
    assert read_all(far.port, 256) == sent


def test_a_read_ends_without_bytes_when_none_come(far):
    assert far.port.read() == b""


def test_bytes_that_are_written_arrive_as_they_are(far):
    sent = bytes(range(256))
    far.port.write(sent)
    assert far.received(256) == sent


def test_a_cancelled_read_ends_and_the_port_still_reads(far):
    thread = threading.Thread(target=far.port.read)
    thread.start()
    far.port.cancel()
    thread.join(2 * READ_WAIT_S)
    assert not thread.is_alive()
    far.send(b"more")
    assert read_all(far.port, 4) == b"more"


def test_a_port_that_goes_away_says_which_and_what_to_do(far):
    far.vanish()
    with pytest.raises(PortError, match=r"(/dev/|socket://).* went away: plug it in again"):
        read_all(far.port, 1)


def test_a_cancel_ends_the_next_read_of_a_serial_port_and_costs_no_bytes():
    far = Terminal()
    far.port.cancel()
    far.send(b"x")
    assert far.port.read() == b""
    assert read_all(far.port, 1) == b"x"
    far.port.close()
    far.vanish()


@pytest.mark.slow
def test_a_connection_that_its_peer_resets_is_closed_for_good():
    # A socket left open would be a ResourceWarning, which fails a test.
    far = Network()
    far.reset()
    with pytest.raises(PortError, match="went away"):
        read_all(far.port, 1)
    far.port.close()


def test_closing_twice_does_nothing(far):
    far.port.close()
    far.port.close()


def test_every_exchange_is_logged_once(far, caplog):
    caplog.set_level("DEBUG", logger="ramphold")
    far.port.write(b"SI\r\n")
    far.send(b"x")
    read_all(far.port, 1)
    said = [record.getMessage().split(" ", 1)[1] for record in caplog.records]
    assert said == [r"> b'SI\r\n'", "< b'x'"]


def test_the_scripted_port_reads_waits_cancels_and_vanishes_alike():
    port = ScriptedPort([(b"", b"abc"), (b"SI\r\n", b"d")], chunk=2, vanishes=True)
    assert [port.read(), port.read(), port.read()] == [b"ab", b"c", b""]
    port.write(b"SI")
    port.write(b"\r\n")
    assert port.read() == b"d"
    with pytest.raises(PortError, match="went away"):
        port.read()
    port.close()
    port.finish()


@pytest.mark.parametrize(
    ("script", "sent", "told"),
    [
        ([(b"S\r\n", b"")], b"SI\r\n", "script expects"),
        ([(b"S\r\n", b"")], b"S\r", "completes nothing"),
        ([(b"S\r\n", b"")], b"", "never came to"),
        ([(b"S\r\n", b"x")], b"S\r\n", "not read"),
        ([], b"S\r\n", "script expects"),
    ],
)
def test_the_scripted_port_fails_on_whatever_did_not_go_as_the_script_says(script, sent, told):
    port = ScriptedPort(script)
    port.write(sent)
    with pytest.raises(AssertionError, match=told):
        port.finish()
