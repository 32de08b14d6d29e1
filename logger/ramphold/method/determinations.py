"""The mean of several determinations of one result, and its uncertainty by their scatter."""

import math
import statistics
from collections.abc import Sequence
from decimal import Decimal

from ramphold.method.uncertainty import Budget, Component, Shape, combine, step

# A result has fewer decimals; further ones are rounding of floats.
_MOST_DECIMALS = 9


def scatter_budget(
    values: Sequence[float], unit: str, *, of: str = "determinations", digit: float | None = None
) -> Budget | None:
    """The mean of determinations with its uncertainty; None for one alone, which shows no scatter.

    The last digit is a source too (GUM F.2.2.1), since equal values are not certain. It is part of
    the scatter already, so it counts only where it makes U greater.

    Args:
        values: the determinations.
        unit: of the values.
        of: what they are called.
        digit: one unit of their last digit; by default that of the values.
    """
    n = len(values)
    if n < 2:  # noqa: PLR2004 - a scatter needs two
        return None
    scatter = Component(
        name=f"scatter of {n} {of}",
        u=statistics.stdev(values) / math.sqrt(n),
        dof=n - 1,
        shape=Shape.READINGS,
    )
    last = step("last digit", last_digit(values) if digit is None else digit)
    mean = statistics.fmean(values)
    both = (combine(mean, unit, parts) for parts in ((scatter,), (scatter, last)))
    return max(both, key=lambda one: one.expanded)


def last_digit(values: Sequence[float]) -> float:
    """One unit of the last decimal that any of the values has."""
    decimals = 0
    for value in values:
        exponent = Decimal(f"{value:.{_MOST_DECIMALS}f}").normalize().as_tuple().exponent
        decimals = max(decimals, -exponent if isinstance(exponent, int) else 0)
    return 10.0**-decimals
