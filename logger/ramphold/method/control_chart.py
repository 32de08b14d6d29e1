"""Individuals and moving-range chart, for the fines of a control sand or any daily figure.

Limits as in NIST/SEMATECH e-Handbook 6.3.2.2; the rules are data, those of Western Electric (1956)
and of Nelson (1984), all from memory.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ramphold.errors import InputError

__all__ = ["NELSON", "WESTERN_ELECTRIC", "Chart", "Rule", "Signal", "Trend", "chart", "signals"]

# Mean range of two results in standard deviations, and the upper limit of such a range over its
# mean, to the figures that the tables of the trade have.
_D2, _D4 = 1.128, 3.267
_LEAST = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Centre and limits, from results taken while all was well.

    Attributes:
        centre: mean of the results.
        sigma: mean moving range over 1.128.
        lower, upper: three sigma either side of the centre.
        range_centre: mean moving range.
        range_upper: greatest moving range to expect. Ranges that share a result go together, so
            that runs of them say little.
    """

    centre: float
    sigma: float
    lower: float
    upper: float
    range_centre: float
    range_upper: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """`need` of the last `of` results lie more than `above` and less than `below` sigma off."""

    name: str
    need: int
    of: int
    above: float = 0.0
    below: float = math.inf
    one_side: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """The last `of` results rise one after the other, or fall, or turn each time."""

    name: str
    of: int
    turning: bool = False


_BEYOND = Rule(name="1 beyond 3 sigma", need=1, of=1, above=3.0)
_TWO_OF_THREE = Rule(name="2 of 3 beyond 2 sigma on one side", need=2, of=3, above=2.0)
_FOUR_OF_FIVE = Rule(name="4 of 5 beyond 1 sigma on one side", need=4, of=5, above=1.0)

WESTERN_ELECTRIC: tuple[Rule | Trend, ...] = (
    _BEYOND,
    _TWO_OF_THREE,
    _FOUR_OF_FIVE,
    Rule(name="8 in a row on one side", need=8, of=8),
)
NELSON: tuple[Rule | Trend, ...] = (
    _BEYOND,
    Rule(name="9 in a row on one side", need=9, of=9),
    Trend(name="6 steadily rising or falling", of=6),
    Trend(name="14 alternating", of=14, turning=True),
    _TWO_OF_THREE,
    _FOUR_OF_FIVE,
    Rule(name="15 within 1 sigma", need=15, of=15, above=-1.0, below=1.0, one_side=False),
    Rule(name="8 beyond 1 sigma on either side", need=8, of=8, above=1.0, one_side=False),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """A rule that speaks, and the number (from 0) of the result at which it does."""

    rule: str
    index: int


def chart(values: Sequence[float]) -> Chart:
    """Limits from results in the order in which they were taken.

    Raises:
        InputError: fewer than two, or one that is not finite.
    """
    if len(values) < _LEAST or not all(map(math.isfinite, values)):
        raise InputError(f"{len(values)} results: expected {_LEAST} or more, all finite")
    centre = math.fsum(values) / len(values)
    range_centre = math.fsum(abs(b - a) for a, b in pairwise(values)) / (len(values) - 1)
    sigma = range_centre / _D2
    return Chart(
        centre=centre,
        sigma=sigma,
        lower=centre - 3 * sigma,
        upper=centre + 3 * sigma,
        range_centre=range_centre,
        range_upper=_D4 * range_centre,
    )


def signals(
    limits: Chart, values: Sequence[float], rules: Sequence[Rule | Trend] = WESTERN_ELECTRIC
) -> tuple[Signal, ...]:
    """Each rule that speaks at each result, the oldest first."""
    return tuple(
        Signal(rule=rule.name, index=index)
        for index in range(len(values))
        for rule in rules
        if _speaks(rule, limits, values[max(index + 1 - rule.of, 0) : index + 1])
    )


def _speaks(rule: Rule | Trend, limits: Chart, last: Sequence[float]) -> bool:
    if isinstance(rule, Trend):
        return _trends(rule, last)
    return any(count >= rule.need for count in _counts(rule, limits, last))


def _counts(rule: Rule, limits: Chart, last: Sequence[float]) -> Iterator[int]:
    """How many results lie in the rule's zone: on each side, or on both together.

    The newest result must be one of them, or the rule would speak of an older one again.
    """
    for side in (1, -1):
        off = [(value - limits.centre) * side for value in last]
        if not rule.one_side:
            off = [abs(distance) for distance in off]
        inside = [rule.above * limits.sigma < d < rule.below * limits.sigma for d in off]
        yield sum(inside) if inside[-1] else 0


def _trends(rule: Trend, last: Sequence[float]) -> bool:
    if len(last) < rule.of:
        return False
    moves = [math.copysign(1, b - a) if b != a else 0.0 for a, b in pairwise(last)]
    if rule.turning:
        return all(a * b < 0 for a, b in pairwise(moves))
    return abs(sum(moves)) == len(moves)
