"""Whether a result does not belong with the others; three results can't tell by themselves.

Nothing here excludes a result: a person does, and gives a reason.
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

__all__ = ["TELLING", "Agreement", "Grubbs", "agreement", "grubbs"]

_LEAST = 3
#: So many results can tell by themselves: of three the farthest can lie at most 1.1547 deviations
#: off, and 1.1543 is the limit.
TELLING = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Grubbs:
    """Grubbs' test on the result farthest from the mean.

    Attributes:
        index: which result that is.
        g: its distance from the mean in standard deviations.
        critical: what `g` must exceed.
        p_value: probability of so large a `g` where all results belong together, at most.
        outlier: whether it does; None for three results, on which the test never speaks.
    """

    index: int
    g: float
    critical: float
    p_value: float
    outlier: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Whether replicates lie as close together as the laboratory's spread lets expect.

    Attributes:
        range: greatest less smallest result.
        limit: what the range exceeds by chance only as often as the significance says; None
            where no spread is known.
        agree: whether the range keeps to it; None where there is no telling.
    """

    range: float
    limit: float | None
    agree: bool | None


def grubbs(
    values: Sequence[float], *, two_sided: bool = True, significance: float = 0.05
) -> Grubbs:
    """Grubbs' test for one outlier, on either side or only on the side where it lies.

    Raises:
        InputError: fewer than three values, or one that is not finite.

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
    """Hold the range of replicates against a spread that was found apart from them.

    Raises:
        InputError: no values, or one that is not finite.

    Source: the critical range of ISO 5725-6, from memory, by the studentized range where the
    spread has few degrees of freedom.
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
