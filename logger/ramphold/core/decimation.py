"""Few points of a long trace, for a figure or a screen; they keep every spike."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from ramphold.core.trace import Floats, Integers

_Line: TypeAlias = list[tuple[float, float]]


def decimated(t_s: Floats, values: Floats, *, columns: int) -> list[_Line]:
    """The least and the greatest value in each column of time, in order.

    Args:
        t_s: times, rising.
        values: as many; NaN breaks the line.
        columns: number of columns that the time is divided into.

    Returns:
        Unbroken lines of (time, value).
    """
    points = extremes(t_s, values, columns=columns)
    if not points.size:
        return []
    gaps = np.cumsum(np.isnan(values))[points]
    return [
        list(zip(t_s[one].tolist(), values[one].tolist(), strict=True))
        for one in np.split(points, np.flatnonzero(np.diff(gaps)) + 1)
    ]


def extremes(t_s: Floats, values: Floats, *, columns: int) -> Integers:
    """Indices of the least and the greatest value in each column of time, in order.

    Args:
        t_s: times, rising.
        values: as many. NaN is never chosen; before and after it, least and greatest are of their
            own.
        columns: number of columns that the time is divided into.
    """
    shown = np.flatnonzero(~np.isnan(values))
    if not shown.size:
        return shown
    column, values = time_columns(t_s, columns)[shown], values[shown]
    broken = np.diff(shown) > 1
    starts = np.flatnonzero(np.concatenate(([True], broken | (np.diff(column) != 0))))
    group = np.repeat(np.arange(starts.size), np.diff(starts, append=shown.size))
    low = _first(values == np.minimum.reduceat(values, starts)[group], group)
    high = _first(values == np.maximum.reduceat(values, starts)[group], group)
    points: Integers = shown[np.union1d(low, high)]
    return points


def time_columns(t_s: Floats, columns: int) -> Integers:
    """The column of each time, from 0, if all the time is divided into so many."""
    span = t_s[-1] - t_s[0]
    column: Integers = ((t_s - t_s[0]) * (columns / span if span > 0 else 0.0)).astype(np.int64)
    return column


def _first(chosen: NDArray[np.bool_], group: Integers) -> Integers:
    """Index of the first chosen value of each group."""
    index = np.flatnonzero(chosen)
    first: Integers = index[np.diff(group[index], prepend=-1) != 0]
    return first
