"""Control chart of a control sand's means, one a day, against a base period that stays as it is.

Specimens of one day share its split and its setting-up, so that their scatter says nothing of what
is to be expected of the next day: the chart takes their mean. The limits come from the first days
and judge the later ones alone.

The moving average and its limits follow NIST/SEMATECH e-Handbook 6.3.2.4, the deviation from moving
ranges 6.3.2.2, both from memory.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ramphold.errors import InputError

#: Days of the base period.
BASE_DAYS = 20

# Mean range of two results in standard deviations, with the digits of the published tables.
_D2 = 1.128
_LEAST = 2
# Ours: the weight of a day in the moving average, and the limits of that average and of a single
# day in deviations. With a base of 20 days a false signal comes once in 700 days on the mean, and
# a shift of two deviations is found in three to four.
_WEIGHT, _AVERAGE_LIMIT, _DAY_LIMIT = 0.2, 3.0, 4.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """The base period.

    Attributes:
        days: how many it has so far, `BASE_DAYS` at most.
        centre: mean of its days.
        sigma: mean moving range over 1.128.
    """

    days: int
    centre: float
    sigma: float

    @property
    def complete(self) -> bool:
        """Whether it is long enough to judge by."""
        return self.days >= BASE_DAYS

    @property
    def day_reach(self) -> float:
        """How far a single day may be from the centre without a signal."""
        return _DAY_LIMIT * self.sigma


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedDay:
    """A day after the base period.

    Attributes:
        index: which of the days.
        average: the moving average with this day in it.
        lower, upper: limits of that average.
        signal: what speaks against chance; None if nothing does.
    """

    index: int
    average: float
    lower: float
    upper: float
    signal: str | None


def chart(days: Sequence[float]) -> Chart:
    """The base period of daily means in the order of the days.

    Raises:
        InputError: fewer than two, or one that is not finite.
    """
    if len(days) < _LEAST or not all(map(math.isfinite, days)):
        raise InputError(f"{len(days)} days: expected {_LEAST} or more, all finite")
    base = days[:BASE_DAYS]
    ranges = math.fsum(abs(after - before) for before, after in pairwise(base))
    return Chart(
        days=len(base),
        centre=math.fsum(base) / len(base),
        sigma=ranges / (len(base) - 1) / _D2,
    )


def judged(base: Chart, days: Sequence[float]) -> tuple[JudgedDay, ...]:
    """Each day after a complete base period; nothing before it is complete.

    After a signal the average begins anew, so that it is not told again on the days that follow.
    """
    return tuple(_judged(base, days)) if base.complete else ()


def _judged(base: Chart, days: Sequence[float]) -> Iterator[JudgedDay]:
    average, count = base.centre, 0
    for index in range(base.days, len(days)):
        average += _WEIGHT * (days[index] - average)
        count += 1
        share = _WEIGHT / (2 - _WEIGHT) * (1 - (1 - _WEIGHT) ** (2 * count))
        reach = _AVERAGE_LIMIT * base.sigma * math.sqrt(share)
        signal = None
        if abs(days[index] - base.centre) > base.day_reach:
            signal = f"a day beyond {_DAY_LIMIT:g} deviations"
        elif abs(average - base.centre) > reach:
            signal = "the moving average is beyond its limits"
        yield JudgedDay(
            index=index,
            average=average,
            lower=base.centre - reach,
            upper=base.centre + reach,
            signal=signal,
        )
        if signal:
            average, count = base.centre, 0
