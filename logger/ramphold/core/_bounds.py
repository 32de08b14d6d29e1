"""Bounds of a number; on each reading, where `min` and `max` would take three times as long."""

from typing import TypeVar

N = TypeVar("N", int, float)


def at_least(value: N, low: N) -> N:
    """`value`, or `low` where that is greater."""
    if low > value:
        return low
    return value


def at_most(value: N, high: N) -> N:
    """`value`, or `high` where that is smaller."""
    if high < value:
        return high
    return value


def between(value: N, low: N, high: N) -> N:
    """`value` within two bounds."""
    if low > value:
        return at_most(low, high)
    return at_most(value, high)
