"""The spread within groups of results, pooled over the groups."""

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A standard deviation and its degrees of freedom."""

    sd: float
    dof: float


def pool(groups: Iterable[Sequence[float]]) -> Spread | None:
    """The spread within groups of results, each about its own mean.

    Groups of one do not contribute. None if no group has two.
    """
    held = [group for group in groups if len(group) > 1]
    dof = sum(len(group) - 1 for group in held)
    if not dof:
        return None
    total = math.fsum((len(group) - 1) * statistics.variance(group) for group in held)
    return Spread(sd=math.sqrt(total / dof), dof=dof)
