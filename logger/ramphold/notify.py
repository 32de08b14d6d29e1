"""Tells the service manager that the daemon is ready, alive or stopping, and its status.

By the protocol of sd_notify(3): assignments, one a line, in a datagram to the Unix socket named by
NOTIFY_SOCKET. Without a service manager, and on any error, nothing happens: a run must not end
because nobody listens.
"""

import os
import socket
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

_US_PER_S = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Notifier:
    """Sends to the service manager; every method returns whether the datagram was sent.

    Args:
        address: path of a socket, or `@name` of an abstract one; None: there is no manager.
        watchdog_s: time in s that the manager waits for a sign of life; None: it does not wait.
    """

    address: str | None = None
    watchdog_s: float | None = None

    @classmethod
    def from_environ(cls, environ: Mapping[str, str], pid: int) -> Self:
        """Read socket and watchdog time from the variables set by the manager for process `pid`.

        An invalid variable counts as not set.
        """
        address = environ.get("NOTIFY_SOCKET", "")
        watched = environ.get("WATCHDOG_PID", str(pid)) == str(pid)
        wait_us = environ.get("WATCHDOG_USEC", "")
        return cls(
            address=address if address[:1] in {"/", "@"} else None,
            watchdog_s=int(wait_us) / _US_PER_S
            if watched and wait_us.isascii() and wait_us.isdigit() and int(wait_us)
            else None,
        )

    @property
    def feed_every_s(self) -> float | None:
        """Interval between calls of `alive` in s: half the wait, by sd_watchdog_enabled(3)."""
        return None if self.watchdog_s is None else self.watchdog_s / 2

    def ready(self, status: str = "") -> bool:
        """Start-up is complete: ports, database and control socket are open."""
        return self._send("READY=1", status)

    def alive(self) -> bool:
        """Readings are being processed; restarts the manager's watchdog time."""
        return self._send("WATCHDOG=1")

    def status(self, text: str) -> bool:
        """Set the status line of the service."""
        return self._send(status=text)

    def stopping(self, status: str = "") -> bool:
        """Shutdown has begun."""
        return self._send("STOPPING=1", status)

    def _send(self, assignment: str = "", status: str = "") -> bool:
        if self.address is None:
            return False
        # A line break in the text would start another assignment.
        said = f"STATUS={' '.join(status.split())}" if status else ""
        message = "\n".join(line for line in (assignment, said) if line)
        try:
            # Does not block: a manager that does not read must not delay a reading.
            with socket.socket(
                socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_NONBLOCK | socket.SOCK_CLOEXEC
            ) as out:
                out.sendto(message.encode(errors="replace"), _raw_address(self.address))
        except OSError:
            return False
        return True


def _raw_address(address: str) -> bytes:
    raw = os.fsencode(address)
    return b"\0" + raw[1:] if raw.startswith(b"@") else raw
