"""As few points of a long trace as a figure or a screen can show, with every spike of it."""

import math
from collections.abc import Iterable, Sequence
from typing import TypeAlias

__all__ = ["decimated"]

_Point: TypeAlias = tuple[float, float]


def decimated(t_s: Sequence[float], values: Iterable[float], *, columns: int) -> list[list[_Point]]:
    """The least and the greatest value in each column of time, in the order they came.

    Args:
        t_s: times, rising.
        values: as many; NaN breaks the line.
        columns: into how many columns the time is cut.

    Returns:
        Unbroken lines of (time, value).
    """
    if not t_s:
        return []
    first, span = t_s[0], t_s[-1] - t_s[0]
    per_s = columns / span if span > 0 else 0.0
    lines: list[list[_Point]] = []
    column, low, high = -1, (0.0, math.inf), (0.0, -math.inf)
    line: list[_Point] = []
    for t, value in zip(t_s, values, strict=True):
        if value != value:  # noqa: PLR0124 - NaN, at the cost of one comparison
            if line or column >= 0:
                lines.append(line + _pair(low, high))
            line, column = [], -1
            continue
        at = int((t - first) * per_s)
        if at != column:
            if column >= 0:
                line += _pair(low, high)
            column, low, high = at, (t, value), (t, value)
        elif value < low[1]:
            low = (t, value)
        elif value > high[1]:
            high = (t, value)
    if column >= 0:
        lines.append(line + _pair(low, high))
    return lines


def _pair(low: _Point, high: _Point) -> list[_Point]:
    if low[0] == high[0]:
        return [low]
    return [low, high] if low[0] < high[0] else [high, low]
