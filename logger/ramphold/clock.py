"""The only place that reads the time; everything else is given it."""

import time
from typing import Protocol

__all__ = ["NS_PER_S", "Clock", "SystemClock"]

NS_PER_S = 1_000_000_000


class Clock(Protocol):
    """Two clocks that belong together: one for intervals, one for the calendar."""

    def now_ns(self) -> int:
        """Monotonic time in ns; never goes back, its zero means nothing."""

    def utc_ns(self) -> int:
        """UTC in ns since 1970; may be set back or forth by whoever keeps it."""


class SystemClock:
    """The computer's own clocks."""

    def now_ns(self) -> int:
        """Monotonic time in ns."""
        return time.monotonic_ns()

    def utc_ns(self) -> int:
        """UTC in ns since 1970."""
        return time.time_ns()
