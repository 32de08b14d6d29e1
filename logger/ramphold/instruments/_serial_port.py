"""Serial ports, and serial-to-network converters by `socket://`; the one module that uses pyserial.

Beside its own exception (an OSError) pyserial raises OSError, termios.error and ValueError. A port
that is pulled out raises either of the first two.
"""

import contextlib
import errno
import logging
import os
import select
import termios
from typing import cast

import serial

from ramphold.errors import PortError
from ramphold.instruments._port import NETWORK_PORT, READ_WAIT_S, PortSettings, Tap, Way

_WRITE_WAIT_S = 0.5
_READ_SIZE = 4096

_log = logging.getLogger(__name__)

_REASONS = {
    errno.ENOENT: "no such port; plug it in, or correct its name in the configuration",
    errno.ENXIO: "no such device behind it; plug it in, or correct its name in the configuration",
    errno.EACCES: "no permission; add this user to the group that owns it (often dialout)",
    errno.EAGAIN: "another program holds it; stop that program",
    errno.EBUSY: "another program holds it; stop that program",
}


class SerialPort:
    """An open serial port, which logs every exchange at DEBUG.

    Args:
        settings: the port, and how it communicates.
        tap: called with all bytes that pass it.

    Raises:
        PortError: it can't be opened; says why, and what to do.
    """

    def __init__(self, settings: PortSettings, tap: Tap | None = None) -> None:
        self._name = settings.port
        self._tap = tap
        self._device = os.path.realpath(settings.port)
        if "://" in settings.port and not NETWORK_PORT.fullmatch(settings.port):
            raise PortError(
                f"{self._name} can't be opened: expected a device, or socket://HOST:PORT with a "
                "port from 1 to 65535"
            )
        bits, parity, stop_bits = tuple(settings.framing)
        try:
            self._serial = serial.serial_for_url(
                settings.port,
                baudrate=settings.baud,
                bytesize=int(bits),
                parity=parity,
                stopbits=int(stop_bits),
                rtscts=settings.handshake == "lines",
                xonxoff=settings.handshake == "xon/xoff",
                timeout=READ_WAIT_S,
                write_timeout=_WRITE_WAIT_S,
                exclusive=True,
            )
        except (OSError, termios.error, ValueError) as error:
            known = _REASONS.get(getattr(error, "errno", None) or 0)
            if known is None and "://" in settings.port:
                # pyserial puts the system's words behind its own.
                said = str(error).rpartition("] ")[2]
                known = f"{said}; switch the converter on, or correct address and port"
            reason = known or f"{error}; expected a serial port"
            raise PortError(f"{self._name} can't be opened: {reason}") from error

    def read(self) -> bytes:
        """As `Port.read`."""
        try:
            data = self._received()
        except (OSError, termios.error) as error:
            raise self._gone() from error
        # The link to an adapter that comes back under another number has moved.
        if not data and os.path.realpath(self._name) != self._device:
            raise PortError(f"{self._name} is another device now: it is opened again")
        self._note("<", data)
        return data

    def _received(self) -> bytes:
        """What has come, once there is a byte; empty where none comes in time."""
        port = self._serial
        if isinstance(port, serial.Serial):
            return _received(port)
        data = bytes(port.read(1))  # this waits, up to the timeout
        return data + bytes(port.read(min(port.in_waiting, _READ_SIZE))) if data else data

    def write(self, data: bytes) -> None:
        """As `Port.write`."""
        try:
            self._serial.write(data)
        except serial.SerialTimeoutException as error:
            raise PortError(
                f"{self._name} takes no bytes: check the cable and the handshake"
            ) from error
        except (OSError, termios.error) as error:
            raise self._gone() from error
        self._note(">", data)

    def cancel(self) -> None:
        """As `Port.cancel`; a network port cannot, and its read ends by itself."""
        cancel_read = getattr(self._serial, "cancel_read", None)
        if cancel_read is not None:
            cancel_read()

    def close(self) -> None:
        """As `Port.close`."""
        # When the peer of a network port has gone, pyserial drops the socket without closing it.
        connection = getattr(self._serial, "_socket", None)
        with contextlib.suppress(OSError):  # a device that was pulled out may refuse even this
            self._serial.close()
        if connection is not None:
            connection.close()

    def _note(self, way: Way, data: bytes) -> None:
        if data:
            _log.debug("%s %s %r", self._name, way, data)
            if self._tap is not None:
                self._tap(way, data)

    def _gone(self) -> PortError:
        return PortError(f"{self._name} went away: plug it in again, or switch it on")


def _received(port: serial.Serial) -> bytes:
    """Wait as pyserial does, which then reads a byte alone and costs twice as much."""
    cancelled = cast("int", port.pipe_abort_read_r)  # an open port has it
    ready, _, _ = select.select((port.fileno(), cancelled), (), (), READ_WAIT_S)
    if not ready:
        return b""
    if cancelled in ready:
        os.read(cancelled, _READ_SIZE)
        return b""
    try:
        data = os.read(port.fileno(), _READ_SIZE)
    except BlockingIOError:
        return b""
    if not data:
        raise OSError(errno.EIO, "ready to be read, and gives nothing")
    return data
