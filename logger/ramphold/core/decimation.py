"""Few points of a long trace, for a figure or a screen; they keep every spike."""

import math
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from typing import TypeAlias

_Column: TypeAlias = Sequence[float]
_Line: TypeAlias = list[tuple[float, float]]


def decimated(t_s: _Column, values: _Column, *, columns: int) -> list[_Line]:
    """The least and the greatest value in each column of time, in order.

    Args:
        t_s: times, rising.
        values: as many; NaN breaks the line.
        columns: number of columns that the time is divided into.

    Returns:
        Unbroken lines of (time, value).
    """
    return [[(t_s[at], values[at]) for at in points] for points in _extremes(t_s, values, columns)]


def extremes(t_s: _Column, values: _Column, *, columns: int) -> list[int]:
    """Indices of the least and the greatest value in each column of time, in order.

    Args:
        t_s: times, rising.
        values: as many. NaN is never chosen; before and after it, least and greatest are of their
            own.
        columns: number of columns that the time is divided into.
    """
    return [at for points in _extremes(t_s, values, columns) for at in points]


def time_column(t_s: _Column, columns: int) -> Callable[[float], int]:
    """Tells the column of a time, from 0, if all the time is divided into so many."""
    start_s, span_s = t_s[0], t_s[-1] - t_s[0]
    per_s = columns / span_s if span_s > 0 else 0.0
    return lambda at_s: int((at_s - start_s) * per_s)


def _extremes(t_s: _Column, values: _Column, columns: int) -> Iterator[list[int]]:
    """The indices of each unbroken line."""
    if not len(t_s):
        return
    column = time_column(t_s, columns)
    for start, end in _unbroken(values):
        points: list[int] = []
        first = start
        while first < end:
            after = bisect_left(t_s, column(t_s[first]) + 1, first + 1, end, key=column)
            held = values[first:after]
            found = {held.index(min(held)), held.index(max(held))}
            points += [first + at for at in sorted(found)]
            first = after
        yield points


def _unbroken(values: _Column) -> Iterator[tuple[int, int]]:
    """Start and end of each part without NaN."""
    start = 0
    for at in (*(at for at, one in enumerate(values) if math.isnan(one)), len(values)):
        if start < at:
            yield start, at
        start = at + 1
