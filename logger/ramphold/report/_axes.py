"""Scales with round ticks, and the frame of a plot."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ramphold.report._drawing import Anchor, Ink, Point, Polygon, Polyline, Shape, Words
from ramphold.report._format import number

#: Width of every figure in points; it fits between the margins of A4 and Letter.
WIDTH = 486.0

_STEPS = (1, 2, 2.5, 5, 10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Maps values `low` to `high` to points `start` to `end`; `log` for a logarithmic scale."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False

    def __call__(self, value: float) -> float:
        low, high = self.low, self.high
        if self.log:
            value, low, high = math.log(value), math.log(low), math.log(high)
        return self.start + (self.end - self.start) * (value - low) / (high - low)

    def ticks(self, about: int = 6) -> list[float]:
        """Round values within the scale, at most about that many."""
        step = _round_up((self.high - self.low) / about)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [at * step for at in range(first, last + 1)]


def fitting(values: Sequence[float], start: float, end: float, *, zero: bool = False) -> Scale:
    """A scale that contains values with some room on both sides, or from zero."""
    low, high = (0.0 if zero else min(values)), max(values)
    room = 0.08 * ((high - low) or abs(high) or 1.0)
    return Scale(low=low if zero else low - room, high=high + room, start=start, end=end)


def _round_up(step: float) -> float:
    size = 10.0 ** math.floor(math.log10(step))
    return next(part * size for part in _STEPS if part * size >= step * (1 - 1e-9))


@dataclass(frozen=True, slots=True)
class Plot:
    """A pair of scales, and the shapes common to all plots."""

    x: Scale
    y: Scale

    def at(self, x: float, y: float) -> Point:
        """The position of a pair of values."""
        return self.x(x), self.y(y)

    def inside(self, y: float) -> float:
        """A y value, clipped to the plot."""
        return min(max(y, self.y.low), self.y.high)

    def box(self, ink: Ink, x: tuple[float, float], y: tuple[float, float]) -> Polygon:
        """A filled rectangle between values."""
        (left, right), (low, high) = x, y
        corners = ((left, low), (right, low), (right, high), (left, high))
        return Polygon(ink, tuple(self.at(*corner) for corner in corners))

    def level(self, ink: Ink, y: float) -> Polyline:
        """A horizontal line across the plot."""
        return Polyline(ink, ((self.x.start, self.y(y)), (self.x.end, self.y(y))))

    def grid(self, x: Sequence[float], y: Sequence[float]) -> Iterator[Shape]:
        """Faint lines at the ticks."""
        for value in x:
            at = self.x(value)
            yield Polyline(Ink.GRID, ((at, self.y.start), (at, self.y.end)))
        for value in y:
            yield self.level(Ink.GRID, value)

    def frame(self) -> Polyline:
        """The left and the lower axis."""
        left, bottom = self.x.start, self.y.start
        return Polyline(Ink.FRAME, ((left, self.y.end), (left, bottom), (self.x.end, bottom)))

    def x_axis(self, title: str, ticks: Sequence[float], form: str) -> Iterator[Shape]:
        """Title and values of the lower axis; `form` formats the values."""
        for value in ticks:
            at = self.x(value)
            yield Polyline(Ink.FRAME, ((at, self.y.start), (at, self.y.start + 3)))
            yield Words(at, self.y.start + 11, f"{value:{form}}", Anchor.MIDDLE)
        middle = (self.x.start + self.x.end) / 2
        yield Words(middle, self.y.start + 22, title, Anchor.MIDDLE)

    def y_axis(self, title: str, ticks: Sequence[float], form: str) -> Iterator[Shape]:
        """Title and values of the left axis; `form` formats the values."""
        for value in ticks:
            at = self.y(value) + 2.5
            yield Words(self.x.start - 5, at, number(value, form), Anchor.END)
        middle = (self.y.start + self.y.end) / 2
        yield Words(9, middle, title, Anchor.MIDDLE, upright=True)
