"""The values a run is judged by: filtered load, lasting levels, and accounts of ramp and hold.

Each account takes (time, stress) pairs in order and knows nothing of states.
"""

import copy
import math
from collections import deque
from dataclasses import dataclass, field
from typing import Self

from ramphold.core._bounds import at_most
from ramphold.core._plan import RunPlan


def seconds(span_ns: int) -> float:
    """A time span in s from integer ns."""
    return span_ns / 1e9


class MedianOfThree:
    """Causal median of the last three values, which removes a single false reading.

    It lags by one reading. There is no value before the third reading, since a false first reading
    could not be recognised.
    """

    def __init__(self) -> None:
        self._last: deque[float] = deque(maxlen=3)

    def feed(self, value: float) -> float | None:
        """Add a value; return the median of the last three, or None before the third."""
        self._last.append(value)
        return sorted(self._last)[1] if len(self._last) == 3 else None  # noqa: PLR2004


class Sustained:
    """Whether a condition has lasted for a given time, and since when."""

    def __init__(self, settle_s: float) -> None:
        self._settle_ns = round(settle_s * 1e9)
        self.since_ns: int | None = None

    def feed(self, t_ns: int, *, holds: bool) -> bool:
        """Say whether the condition holds at a time; return True once it has lasted long enough."""
        if not holds:
            self.since_ns = None
            return False
        if self.since_ns is None:
            self.since_ns = t_ns
        return t_ns - self.since_ns >= self._settle_ns


class LastingPeak:
    """The greatest level that lasted for a given time. Repeated spikes do not count."""

    def __init__(self, settle_s: float) -> None:
        self._settle_ns = round(settle_s * 1e9)
        self._times_ns: deque[int] = deque()
        self._values: deque[float] = deque()
        self.level = 0.0

    def feed(self, t_ns: int, value: float) -> None:
        """Add a value."""
        times_ns, since_ns = self._times_ns, t_ns - self._settle_ns
        times_ns.append(t_ns)
        self._values.append(value)
        # Keep one value older than the time, so that the others span it.
        while len(times_ns) > 1 and times_ns[1] <= since_ns:
            times_ns.popleft()
            self._values.popleft()
        if times_ns[0] <= since_ns:
            self.level = max(self.level, min(self._values))


@dataclass(slots=True)
class RampAccount:
    """The ramp from the reading that crossed the seating load.

    The line starts at that reading and rises at the planned rate to the target. Deviations are
    weighted by their duration, so that unevenly spaced readings count correctly.
    """

    plan: RunPlan
    start_ns: int
    start_psi: float
    end_ns: int = field(init=False)
    end_psi: float = field(init=False)
    _squares: float = 0.0

    def __post_init__(self) -> None:
        self.end_ns, self.end_psi = self.start_ns, self.start_psi

    def line_psi(self, t_ns: int) -> float:
        """The ramp line at a time, in psi."""
        climbed = self.plan.rate_psi_min * seconds(t_ns - self.start_ns) / 60
        return at_most(self.start_psi + climbed, self.plan.target_psi)

    def feed(self, t_ns: int, stress_psi: float) -> None:
        """Add a reading of the ramp."""
        deviation = stress_psi - self.line_psi(t_ns)
        self._squares += deviation * deviation * seconds(t_ns - self.end_ns)
        self.end_ns, self.end_psi = t_ns, stress_psi

    def frozen(self) -> Self:
        """A copy of the account as it is now."""
        return copy.copy(self)

    @property
    def lasted_s(self) -> float:
        """Time from the ramp's first reading to its newest, in s."""
        return seconds(self.end_ns - self.start_ns)

    @property
    def rate_psi_min(self) -> float | None:
        """Mean rate from the ramp's first reading to its newest, in psi/min."""
        return (self.end_psi - self.start_psi) / self.lasted_s * 60 if self.lasted_s else None

    @property
    def rms_psi(self) -> float | None:
        """Root mean square of the deviation from the line, in psi."""
        return math.sqrt(self._squares / self.lasted_s) if self.lasted_s else None


@dataclass(slots=True)
class HoldAccount:
    """The hold from its first reading at the target to the last one in the band.

    An interval between two readings takes the value of the first. What follows the last reading in
    the band is not yet part of the hold, since it may be the release.
    """

    plan: RunPlan
    start_ns: int
    start_psi: float
    last_in_band_ns: int = field(init=False)
    #: The end of the planned hold, in monotonic ns.
    planned_end_ns: int = field(init=False)
    out_of_band_s: float = 0.0
    _integral: float = 0.0
    _pending_out_s: float = 0.0
    _pending_integral: float = 0.0
    _half_width_psi: float = field(init=False)
    _before: tuple[int, float, bool] = field(init=False)

    def __post_init__(self) -> None:
        self._half_width_psi = self.plan.target_psi * self.plan.rules.band_pct / 100
        self.last_in_band_ns = self.start_ns
        self.planned_end_ns = self.start_ns + round(self.plan.hold_s * 1e9)
        self._before = (self.start_ns, self.start_psi, self.in_band(self.start_psi))

    def in_band(self, stress_psi: float) -> bool:
        """Whether a stress lies in the hold band."""
        return abs(stress_psi - self.plan.target_psi) <= self._half_width_psi

    def feed(self, t_ns: int, stress_psi: float) -> None:
        """Add a reading of the hold."""
        before_ns, before_psi, was_in = self._before
        dt_s = seconds(t_ns - before_ns)
        if not was_in:
            self._pending_out_s += dt_s
        self._pending_integral += dt_s * (before_psi + stress_psi) / 2
        is_in = self.in_band(stress_psi)
        if is_in:
            self.last_in_band_ns = t_ns
            self.out_of_band_s += self._pending_out_s
            self._integral += self._pending_integral
            self._pending_out_s = self._pending_integral = 0.0
        self._before = (t_ns, stress_psi, is_in)

    @property
    def held_s(self) -> float:
        """Time from the hold's start to its last reading in the band, in s."""
        return seconds(self.last_in_band_ns - self.start_ns)

    @property
    def mean_psi(self) -> float | None:
        """Mean stress over that time, in psi."""
        return self._integral / self.held_s if self.held_s else None
