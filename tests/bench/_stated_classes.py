"""Whether what is stated with a probability is true as often: bins of it, and their noise."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

_EDGES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0001)


@dataclass(frozen=True)
class Stated:
    """The probability that a laboratory stated of a class or an interval, and whether it held."""

    laboratory: int
    probability: float
    true: bool


@dataclass(frozen=True)
class Bin:
    """Classes stated with a probability from one edge to another, and how often they were true."""

    low: float
    high: float
    held: tuple[Stated, ...]

    @property
    def count(self) -> int:
        """How many."""
        return len(self.held)

    @property
    def stated(self) -> float:
        """The mean of their probabilities."""
        return sum(one.probability for one in self.held) / self.count

    @property
    def true(self) -> float:
        """The share that was true."""
        return sum(one.true for one in self.held) / self.count

    @property
    def off(self) -> float:
        """True less stated."""
        return self.true - self.stated

    @property
    def noise(self) -> float:
        """Standard error of `off`, from what each laboratory adds to it."""
        sums: dict[int, float] = {}
        for one in self.held:
            more = one.true - one.probability
            sums[one.laboratory] = sums.get(one.laboratory, 0.0) + more
        return math.sqrt(sum(more * more for more in sums.values())) / self.count


def bins(classes, least) -> Iterator[Bin]:
    """Stated probabilities by bins of at least so many; what is left joins the last."""
    low, within, rest = 0.0, [], list(classes)
    for high in _EDGES[1:]:
        within += [one for one in rest if one.probability < high]
        rest = [one for one in rest if one.probability >= high]
        if within and not rest:
            yield Bin(low, 1.0, tuple(within))
            return
        if len(within) >= least <= len(rest):
            yield Bin(low, high, tuple(within))
            low, within = high, []


def within_edges(classes, low, high) -> Bin:
    """Those stated with a probability from one edge to another; 1 is in the last."""
    held = (one for one in classes if low <= one.probability < (high if high < 1 else math.inf))
    return Bin(low, high, tuple(held))


def all_of(stated) -> Bin:
    """All that was stated."""
    return Bin(0.0, 1.0, tuple(stated))
