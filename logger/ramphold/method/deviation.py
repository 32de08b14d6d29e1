"""How far a value may be from the truth: Student's t, and an effect that only ever adds to it.

Whole grains that pass a sieve add to the fines and never take away. Such an effect is given as
amounts with their weights, and what is left of its distribution by Student's t about each of them.
"""

import math
from dataclasses import dataclass, replace

from ramphold.method.distributions import t_cdf, two_sided_t
from ramphold.method.limits import over

# Each halves the error of a reach.
_HALVINGS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """The deviation of a value from the truth, in the unit of the value.

    Attributes:
        u: standard uncertainty without the amounts.
        dof: its degrees of freedom.
        amounts: by how much the value may be too high.
        weights: the probability of each; they sum up to one.
        share: standard deviation of an amount from one value to the next, as a share of it.
    """

    u: float
    dof: float = math.inf
    amounts: tuple[float, ...] = (0.0,)
    weights: tuple[float, ...] = (1.0,)
    share: float = 0.0

    @property
    def rms(self) -> float:
        """The root of the mean square deviation, JCGM 100:2008 F.2.4.5 (from memory)."""
        return math.sqrt(
            self.u**2
            + (1 + self.share**2)
            * math.fsum(p * a * a for a, p in zip(self.amounts, self.weights, strict=True))
        )

    @property
    def mirrored(self) -> "Deviation":
        """The same of the negated value, as a limit to the other side needs it."""
        return replace(self, amounts=tuple(-one for one in self.amounts))

    def within(self, room: float) -> float:
        """Probability that the truth is no more than `room` above the value."""
        return math.fsum(
            weight * _at_most(room + amount, math.hypot(self.u, self.share * amount), self.dof)
            for amount, weight in zip(self.amounts, self.weights, strict=True)
        )

    def reach(self, confidence: float = 0.95) -> float:
        """How far the value must reach to either side to cover the truth with that probability."""
        farthest = max(map(abs, self.amounts))
        single = two_sided_t(confidence, self.dof) * self.u
        if not farthest:
            return single
        scatter = two_sided_t(confidence, self.dof) * self.share * farthest
        low, high = 0.0, farthest + single + scatter
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if self.within(middle) - self.within(-middle) < confidence:
                low = middle
            else:
                high = middle
        return high


def evenly(amounts: tuple[float, ...]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Equally likely amounts as amounts that differ, and the weight of each."""
    counts: dict[float, int] = {}
    for one in amounts:
        counts[one] = counts.get(one, 0) + 1
    return tuple(counts), tuple(count / len(amounts) for count in counts.values())


def _at_most(room: float, u: float, dof: float) -> float:
    if not u:
        return 0.0 if over(-room, 0.0) else 1.0
    return t_cdf(room / u, dof)
