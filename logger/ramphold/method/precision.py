"""The spread within groups of results, pooled over many of them."""

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = ["Spread", "pool"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A standard deviation, and the degrees of freedom that it was won from."""

    sd: float
    dof: float


def pool(groups: Iterable[Sequence[float]]) -> Spread | None:
    """Spread within groups of results that each have their own mean.

    A group of one says nothing. None where no group has two.
    """
    held = [group for group in groups if len(group) > 1]
    dof = sum(len(group) - 1 for group in held)
    if not dof:
        return None
    total = math.fsum((len(group) - 1) * statistics.variance(group) for group in held)
    return Spread(sd=math.sqrt(total / dof), dof=dof)
