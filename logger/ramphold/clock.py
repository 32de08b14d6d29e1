"""The only module that reads the time; all others are given it."""

import time
from datetime import UTC, datetime
from typing import Protocol

NS_PER_S = 1_000_000_000


def utc_text(utc_ns: int) -> str:
    """A time in UTC to the second, as text."""
    return f"{datetime.fromtimestamp(utc_ns // NS_PER_S, UTC):%Y-%m-%d %H:%M:%S}"


class Clock(Protocol):
    """Two clocks: one for intervals, one for the calendar."""

    def now_ns(self) -> int:
        """Monotonic time in ns, from an arbitrary zero."""

    def utc_ns(self) -> int:
        """UTC in ns since 1970; may be set forwards or back."""


class SystemClock:
    """The clocks of the computer."""

    def now_ns(self) -> int:
        """Monotonic time in ns."""
        return time.monotonic_ns()

    def utc_ns(self) -> int:
        """UTC in ns since 1970."""
        return time.time_ns()
