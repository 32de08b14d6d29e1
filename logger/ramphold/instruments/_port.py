"""A port: bytes in, bytes out, nothing known of what they mean. Every exchange is logged here."""

import logging
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from ramphold.errors import ConfigError

__all__ = ["READ_WAIT_S", "LoggedPort", "Port", "PortSettings", "Tap", "Way"]

#: Longest time in s that `Port.read` waits for a byte.
READ_WAIT_S = 0.1

_FRAMING = re.compile(r"[78][NEO][12]")

_log = logging.getLogger(__name__)

Way = Literal[">", "<"]
#: Is given all bytes that pass a port, `>` sent and `<` received, in the port's own thread.
Tap = Callable[[Way, bytes], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class PortSettings:
    """Where an instrument is plugged in, and how it talks.

    Attributes:
        port: device path, or a URL such as `socket://192.0.2.7:4001`.
        backend: name in `BACKENDS` of what opens it.
        baud: bits per second; means nothing to a network port.
        framing: data bits, parity and stop bits, such as `8N1` or `7E1`.
        handshake: how one side holds back the other.

    Raises:
        ConfigError: when built from a framing or rate that no port has.
    """

    port: str
    backend: str = "serial"
    baud: int = 9600
    framing: str = "8N1"
    handshake: Literal["none", "lines", "xon/xoff"] = "none"

    def __post_init__(self) -> None:
        if not self.port:
            raise ConfigError("the port's name is empty: expected a device path or a URL")
        if self.baud <= 0:
            raise ConfigError(f"{self.port}: baud is {self.baud}: expected a rate such as 9600")
        if _FRAMING.fullmatch(self.framing) is None:
            raise ConfigError(
                f"{self.port}: framing is {self.framing!r}: expected 8N1, 7E1 or the like"
            )


class Port(Protocol):
    """A byte port that is open.

    One thread uses it, but for `cancel`. After a PortError only `close` may still be called.
    """

    def read(self) -> bytes:
        """The bytes that have come, at least one, or none after `READ_WAIT_S` or a `cancel`.

        Raises:
            PortError: the port went away; names the port and what to do.
        """

    def write(self, data: bytes) -> None:
        """Send all of `data`.

        Raises:
            PortError: the port went away, or takes no bytes.
        """

    def cancel(self) -> None:
        """End a `read` that waits, or the next one; may be called from any thread."""

    def close(self) -> None:
        """Give the port back; a second time does nothing."""


class LoggedPort:
    """A port whose every exchange goes to the log at DEBUG and to a tap; the one place for both."""

    def __init__(self, port: Port, name: str, tap: Tap | None = None) -> None:
        self._port = port
        self._name = name
        self._tap = tap

    def read(self) -> bytes:
        """Read as `Port.read`."""
        data = self._port.read()
        if data:
            _log.debug("%s < %r", self._name, data)
            if self._tap is not None:
                self._tap("<", data)
        return data

    def write(self, data: bytes) -> None:
        """Write as `Port.write`."""
        _log.debug("%s > %r", self._name, data)
        self._port.write(data)
        if self._tap is not None:
            self._tap(">", data)

    def cancel(self) -> None:
        """Cancel as `Port.cancel`."""
        self._port.cancel()

    def close(self) -> None:
        """Close as `Port.close`."""
        self._port.close()
