"""The only module that reads the time; all others are given it."""

import ctypes
import functools
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

NS_PER_S = 1_000_000_000

# The state that adjtimex(2) returns while nothing keeps the clock right.
_TIME_ERROR = 5
# More than its structure takes on any system.
_TIMEX_BYTES = 512


def utc_text(utc_ns: int) -> str:
    """A time in UTC to the second, as text."""
    return f"{datetime.fromtimestamp(utc_ns // NS_PER_S, UTC):%Y-%m-%d %H:%M:%S}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockState:
    """What is known of the clocks.

    Attributes:
        boot: names the boot whose time `now_ns` is; empty where that can't be told.
        synchronised: whether the kernel calls the calendar synchronised; None: it can't be told.
        battery: whether a clock goes on without power; None: it can't be told.
    """

    boot: str = ""
    synchronised: bool | None = None
    battery: bool | None = None


class Clock(Protocol):
    """Two clocks: one for intervals, one for the calendar."""

    def now_ns(self) -> int:
        """Monotonic time in ns, from an arbitrary zero that stays for one boot."""

    def utc_ns(self) -> int:
        """UTC in ns since 1970; may be set forwards or back."""

    def state(self) -> ClockState:
        """What is known of both."""


class SystemClock:
    """The clocks of the computer."""

    def now_ns(self) -> int:
        """Time since the boot in ns, that of sleep included."""
        return time.clock_gettime_ns(time.CLOCK_BOOTTIME)

    def utc_ns(self) -> int:
        """UTC in ns since 1970."""
        return time.time_ns()

    def state(self) -> ClockState:
        """What the kernel says."""
        return ClockState(boot=_boot(), synchronised=_synchronised(), battery=_battery())


@functools.cache
def _boot() -> str:
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return ""


@functools.cache
def _c_library() -> ctypes.CDLL:
    return ctypes.CDLL(None)


def _synchronised() -> bool | None:
    # All zero asks and sets nothing, which needs no right.
    state = _c_library().adjtimex(ctypes.create_string_buffer(_TIMEX_BYTES))
    return None if state < 0 else state != _TIME_ERROR


def _battery() -> bool:
    return any(Path("/sys/class/rtc").glob("rtc*"))
