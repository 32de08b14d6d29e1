"""Tests for outliers. Three results alone cannot show one.

Nothing here excludes a result; a person does, and gives a reason.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.distributions import t_cdf, t_quantile
from ramphold.method.limits import over
from ramphold.method.precision import Spread
from ramphold.method.studentized_range import range_quantile

_LEAST = 3
#: Fewest results that can show an outlier by themselves: of three, the farthest lies at most 1.1547
#: deviations off, and the limit is 1.1543.
TELLING = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Grubbs:
    """Grubbs' test on the result farthest from the mean.

    Attributes:
        index: of that result.
        g: its distance from the mean in standard deviations.
        critical: what `g` must exceed.
        p_value: greatest probability of so large a `g` if there is no outlier.
        outlier: whether it is one; None for three results, where the test cannot tell.
    """

    index: int
    g: float
    critical: float
    p_value: float
    outlier: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Whether replicates agree as closely as the laboratory's spread lets expect.

    Attributes:
        range: greatest less smallest result.
        limit: the range exceeds it by chance only with the probability `significance`; None if no
            spread is known.
        agree: whether the range is within it; None if it cannot be judged.
    """

    range: float
    limit: float | None
    agree: bool | None


def grubbs(
    values: Sequence[float], *, two_sided: bool = True, significance: float = 0.05
) -> Grubbs:
    """Grubbs' test for one outlier, on either side or only on the side of the farthest result.

    Raises:
        InputError: there are fewer than three values, or one is not finite.

    Source: NIST/SEMATECH e-Handbook 1.3.5.17.1 and ASTM E178, from memory.
    """
    n = len(values)
    if n < _LEAST or not all(map(math.isfinite, values)):
        raise InputError(f"{n} results: expected {_LEAST} or more, all finite")
    mean, sd = math.fsum(values) / n, statistics.stdev(values)
    index = max(range(n), key=lambda i: abs(values[i] - mean))
    g = abs(values[index] - mean) / sd if sd else 0.0
    ways = 2 * n if two_sided else n
    t = t_quantile(1 - significance / ways, n - 2)
    critical = (n - 1) / math.sqrt(n) * math.sqrt(t**2 / (n - 2 + t**2))
    return Grubbs(
        index=index,
        g=g,
        critical=critical,
        p_value=min(ways * t_cdf(-_t_of(g, n), n - 2), 1.0),
        outlier=g > critical if n >= TELLING else None,
    )


def agreement(
    values: Sequence[float], spread: Spread | None, *, significance: float = 0.05
) -> Agreement:
    """Compare the range of replicates with a spread known independently of them.

    Raises:
        InputError: there are no values, or one is not finite.

    Source: the critical range of ISO 5725-6, from memory, with the studentized range for a spread
    of few degrees of freedom.
    """
    if not values or not all(map(math.isfinite, values)):
        raise InputError(f"the replicates are {list(values)}: expected one or more finite numbers")
    width = max(values) - min(values)
    if spread is None or len(values) == 1:
        return Agreement(range=width, limit=None, agree=None)
    limit = spread.sd * range_quantile(1 - significance, len(values), spread.dof)
    return Agreement(range=width, limit=limit, agree=not over(width, limit))


def _t_of(g: float, n: int) -> float:
    """Student's t of a result that lies g deviations off, against the others."""
    rest = (n - 1) ** 2 - n * g**2
    return math.sqrt(n * (n - 2) * g**2 / rest) if rest > 0 else math.inf
