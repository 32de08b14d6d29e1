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
class ScatterSource:
    """What makes the means of one material differ.

    Attributes:
        name: such as `operators`, or `splits and days` where each split had a day of its own.
        spread: the deviation in %, and its degrees of freedom.
        known: whether the laboratory's own results show it; otherwise it is from memory.
    """

    name: str
    spread: Spread
    known: bool

    @property
    def words(self) -> str:
        """What it is, and where it comes from."""
        return f"between {self.name}, {'by the control sand' if self.known else 'from memory'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """The parts of a result's scatter.

    Attributes:
        within: deviation of single results of one split and day, the repeatability; None where the
            laboratory has not shown it.
        between: deviation of the true means of such groups; None where nothing is known of it.
        sources: what `between` is made of.
    """

    within: Spread | None
    between: Spread | None
    sources: tuple[ScatterSource, ...] = ()


def combined(sources: Iterable[ScatterSource]) -> Spread | None:
    """The deviation of all sources together, by Welch and Satterthwaite; None without any."""
    held = [one.spread for one in sources]
    if not held:
        return None
    variance = math.fsum(one.sd**2 for one in held)
    parts = math.fsum(one.sd**4 / one.dof for one in held)
    return Spread(sd=math.sqrt(variance), dof=variance**2 / parts if parts else held[0].dof)


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
