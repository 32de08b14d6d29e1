"""How far results of the same thing lie apart: within a group, and from group to group."""

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A standard deviation and its degrees of freedom."""

    sd: float
    dof: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """The two parts of a result's scatter.

    Attributes:
        within: deviation of single results within a group, the repeatability.
        between: deviation of the groups' true means; None if no family has two groups.
    """

    within: Spread
    between: Spread | None


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


def components(families: Iterable[Sequence[Sequence[float]]]) -> Precision | None:
    """The components of variance of results in groups, by a one-way analysis of variance.

    Groups may differ in size. The deviation between groups is common to all families; it is zero
    if their means differ by less than the scatter within them lets expect. Its degrees of freedom
    are Satterthwaite's. None if no group has two results.

    Args:
        families: each one quantity, such as the fines of one sand at one stress, as groups of
            results.

    Source: ISO 5725-2:1994 7.4.5 and ASTM E691 clause 15, from memory.
    """
    held = [[group for group in family if group] for family in families]
    within = pool(group for family in held for group in family)
    if within is None:
        return None
    split = [family for family in held if len(family) > 1]
    dof = sum(len(family) - 1 for family in split)
    if not dof:
        return Precision(within=within, between=None)
    mean_square = math.fsum(map(_square_between, split)) / dof
    size = math.fsum(map(_size_left, split)) / dof
    noise = within.sd**2
    variance = max((mean_square - noise) / size, 0.0)
    parts = (mean_square / size) ** 2 / dof + (noise / size) ** 2 / within.dof
    free = variance**2 / parts if variance else dof
    return Precision(within=within, between=Spread(sd=math.sqrt(variance), dof=max(free, 1.0)))


def _square_between(family: Sequence[Sequence[float]]) -> float:
    """Sum of squares of the groups' means about the mean of all."""
    count = sum(map(len, family))
    centre = math.fsum(value for group in family for value in group) / count
    return math.fsum(len(group) * (statistics.fmean(group) - centre) ** 2 for group in family)


def _size_left(family: Sequence[Sequence[float]]) -> float:
    """The number of results, less the part that is lost to groups of unequal size."""
    sizes = [len(group) for group in family]
    return sum(sizes) - sum(size**2 for size in sizes) / sum(sizes)
