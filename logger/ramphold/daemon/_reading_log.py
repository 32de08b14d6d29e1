"""The newest readings of one instrument, and its rate, noise and share at rest."""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from msgspec import Struct

from ramphold.clock import NS_PER_S
from ramphold.control.instrument_methods import ReadingRow, Readings
from ramphold.core import MassReading, MassState, Quality, Reading, noise_sd
from ramphold.units import FORCE_UNITS

# Four minutes at 80 readings/s; slower readings go by their age.
_KEPT = 20_000
_KEPT_NS = 300 * NS_PER_S
_WINDOW_NS = 5 * NS_PER_S
_AT_REST = {Quality.GOOD, MassState.STABLE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Figures of the last five seconds; None where there are too few readings."""

    rate_per_s: float | None
    noise: float | None
    steady_pct: float | None


class _Kept(Struct, frozen=True, gc=False):
    """A reading as it was taken, and as it was corrected."""

    raw: Reading | MassReading
    corrected: Reading | MassReading

    @property
    def t_ns(self) -> int:
        return self.raw.t_ns

    @property
    def quality(self) -> Quality | MassState:
        return self.raw.quality if isinstance(self.raw, Reading) else self.raw.state


class ReadingLog:
    """Keeps the newest readings of an instrument in memory, the unusable ones too.

    Args:
        unit: of what it reads before any correction: `count`, `lbf` or `g`.
    """

    def __init__(self, unit: str) -> None:
        self.unit = unit
        self._kept: deque[_Kept] = deque()
        self._gone_ns: int | None = None

    @property
    def row(self) -> ReadingRow | None:
        """The newest reading; None before the first."""
        return self._row(self._kept[-1]) if self._kept else None

    @property
    def text(self) -> str:
        """The newest reading as it came, for a person; empty before the first."""
        return _text(self._kept[-1].raw) if self._kept else ""

    @property
    def step(self) -> float | None:
        """Smallest step of the readings; None before the first, or where it is not known."""
        newest = self._kept[-1].raw if self._kept else None
        if self.unit == "count":
            return 1.0
        if not isinstance(newest, Reading) or not newest.usable:
            return None
        size = FORCE_UNITS.get(newest.unit)
        return None if size is None else float(Decimal(1).scaleb(newest.exponent)) * size

    def take(self, raw: Reading | MassReading, corrected: Reading | MassReading) -> None:
        """Take a reading, before and after its correction."""
        self._kept.append(_Kept(raw, corrected))
        while len(self._kept) > _KEPT or self._kept[0].t_ns < raw.t_ns - _KEPT_NS:
            self._gone_ns = self._kept.popleft().t_ns

    def after(self, t_ns: int | None, limit: int) -> Readings:
        """The readings after a time in ns, or the newest; at most `limit` of them."""
        kept = list(self._since(-1 if t_ns is None else t_ns))
        gone_ns = self._gone_ns
        lost = t_ns is not None and gone_ns is not None and t_ns <= gone_ns
        part = kept[-limit:] if t_ns is None else kept[:limit]
        return Readings(readings=tuple(map(self._row, part)), unit=self.unit, lost=lost)

    def figures(self, now_ns: int) -> Figures:
        """The figures of the last five seconds."""
        recent = list(self._since(now_ns - _WINDOW_NS))
        span_ns = recent[-1].t_ns - recent[0].t_ns if recent else 0
        values = [value for one in recent if (value := _value(one.corrected)) is not None]
        resting = sum(one.quality in _AT_REST for one in recent)
        return Figures(
            rate_per_s=(len(recent) - 1) * NS_PER_S / span_ns if span_ns else None,
            noise=noise_sd(values),
            steady_pct=100 * resting / len(recent) if recent else None,
        )

    def _since(self, t_ns: int) -> Iterator[_Kept]:
        newer: list[_Kept] = []
        for one in reversed(self._kept):
            if one.t_ns <= t_ns:
                break
            newer.append(one)
        return reversed(newer)

    def _row(self, one: _Kept) -> ReadingRow:
        reading = _value(one.raw)
        if self.unit == "count" and isinstance(one.raw, Reading):
            # A count is a reading, with or without a certificate that makes it a force.
            counted = one.quality in (Quality.GOOD, Quality.UNSTEADY, Quality.UNCALIBRATED)
            reading = float(one.raw.raw) if counted else None
        return ReadingRow(
            t_ns=one.t_ns, value=_value(one.corrected), reading=reading, quality=one.quality
        )


def _text(reading: Reading | MassReading) -> str:
    if reading.line:
        return reading.line.decode("ascii", "backslashreplace").strip()
    if isinstance(reading, MassReading):
        return ""
    return f"{Decimal(reading.raw).scaleb(reading.exponent):f} {reading.unit}".rstrip()


def _value(reading: Reading | MassReading) -> float | None:
    if isinstance(reading, MassReading):
        return reading.mass_g
    return reading.force_lbf if reading.usable else None
