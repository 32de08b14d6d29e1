"""Individuals and moving-range chart, for the fines of a control sand or any daily value.

The limits follow NIST/SEMATECH e-Handbook 6.3.2.2, the rules Western Electric (1956), both from
memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ramphold.errors import InputError

# Mean range of two results in standard deviations, and the upper limit of such a range over its
# mean, with the digits of the published tables.
_D2, _D4 = 1.128, 3.267
_LEAST = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Centre and limits, from results of a process in control.

    Attributes:
        centre: mean of the results.
        sigma: mean moving range over 1.128.
        lower, upper: three sigma either side of the centre.
        range_centre: mean moving range.
        range_upper: greatest moving range to expect. Consecutive ranges share a result and are
            correlated, so that runs of them mean little.
    """

    centre: float
    sigma: float
    lower: float
    upper: float
    range_centre: float
    range_upper: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Signals if `need` of the last `of` results lie more than `above` sigma off on one side."""

    name: str
    need: int
    of: int
    above: float


WESTERN_ELECTRIC = (
    Rule(name="1 beyond 3 sigma", need=1, of=1, above=3.0),
    Rule(name="2 of 3 beyond 2 sigma on one side", need=2, of=3, above=2.0),
    Rule(name="4 of 5 beyond 1 sigma on one side", need=4, of=5, above=1.0),
    Rule(name="8 in a row on one side", need=8, of=8, above=0.0),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """A rule that is broken, and the index of the result that breaks it."""

    rule: str
    index: int


def chart(values: Sequence[float]) -> Chart:
    """The limits from results in the order they were taken.

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
    limits: Chart, values: Sequence[float], rules: Sequence[Rule] = WESTERN_ELECTRIC
) -> tuple[Signal, ...]:
    """Every rule broken at each result, oldest first."""
    return tuple(
        Signal(rule=rule.name, index=index)
        for index in range(len(values))
        for rule in rules
        if _speaks(rule, limits, values[max(index + 1 - rule.of, 0) : index + 1])
    )


def _speaks(rule: Rule, limits: Chart, last: Sequence[float]) -> bool:
    """Whether enough results lie beyond the rule's distance, on the side of the newest.

    The newest must be one of them, or the rule would signal an older result again.
    """
    edge = rule.above * limits.sigma
    for side in (1, -1):
        beyond = [(value - limits.centre) * side > edge for value in last]
        if beyond[-1] and sum(beyond) >= rule.need:
            return True
    return False
