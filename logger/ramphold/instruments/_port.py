"""The contract of a port, which passes bytes whatever they mean, and its settings."""

import re
from collections.abc import Callable
from typing import Literal, Protocol

from msgspec import Struct

from ramphold.errors import ConfigError

#: Longest time in s that `Port.read` waits for a byte.
READ_WAIT_S = 0.1

#: A port on the network, with its number from 1 to 65535.
NETWORK_PORT = re.compile(
    r"socket://(?:[^/:\s]+|\[[0-9a-fA-F:.]+\]):0*"
    r"(?:[1-9]\d{0,3}|[1-5]\d{4}|6[0-4]\d{3}|65[0-4]\d{2}|655[0-2]\d|6553[0-5])"
)
_FRAMING = re.compile(r"[78][NEO][12]")

Way = Literal[">", "<"]
#: Called with all bytes that pass a port, `>` sent and `<` received, in the port's thread.
Tap = Callable[[Way, bytes], None]


class PortSettings(Struct, frozen=True, kw_only=True):
    """Where an instrument is plugged in and how it communicates.

    Attributes:
        port: device path, or a URL such as `socket://192.0.2.7:4001`.
        baud: bits per second; without meaning for a network port.
        framing: data bits, parity and stop bits, such as `8N1` or `7E1`.
        handshake: flow control.

    Raises:
        ConfigError: no port has that framing or rate.
    """

    port: str
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

    @property
    def place(self) -> str:
        """Where it is, for a person."""
        return self.port

    @property
    def rate(self) -> str:
        """Baud and framing, such as `9600 8N1`; empty for a network port."""
        return "" if "://" in self.port else f"{self.baud} {self.framing}"


class Port(Protocol):
    """An open byte port.

    One thread uses it, except for `cancel`. After a PortError only `close` may be called.
    """

    def read(self) -> bytes:
        """The received bytes, at least one; none after `READ_WAIT_S` or a `cancel`.

        Raises:
            PortError: the port went away; says what to do.
        """

    def write(self, data: bytes) -> None:
        """Send all of `data`.

        Raises:
            PortError: the port went away, or takes no bytes.
        """

    def cancel(self) -> None:
        """End a waiting `read`, or the next one; may be called from any thread."""

    def close(self) -> None:
        """Release the port; a second call does nothing."""
