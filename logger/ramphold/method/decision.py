"""Decisions on limits: accepted or not, the probability that it conforms, and the risk.

Source: JCGM 106:2012 clauses 7.2, 7.3, 8.2 and 8.3 (from memory).
"""

import math
from dataclasses import dataclass

from ramphold.method.distributions import t_cdf, two_sided_t
from ramphold.method.limits import over, under
from ramphold.method.uncertainty import Budget


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitDecision:
    """What follows from a measured value and a limit.

    Attributes:
        value, limit: in the same unit.
        upper: whether the value must not be over the limit; otherwise not under it.
        guard: how far the value must keep from the limit to be accepted, in that unit.
        accepted: whether it does.
        probability: that the true value is within the limit; None where no uncertainty is known.
    """

    value: float
    limit: float
    upper: bool
    guard: float
    accepted: bool
    probability: float | None

    @property
    def within(self) -> bool:
        """Whether the value itself is within the limit, whatever the guard band."""
        return _within(self.value, self.limit, upper=self.upper)

    @property
    def risk(self) -> float | None:
        """The probability that the decision is wrong, 7.2 and 9.3.2; None where it is not known."""
        if self.probability is None:
            return None
        return 1 - self.probability if self.accepted else self.probability


def decide(
    value: float,
    limit: float,
    *,
    upper: bool = True,
    budget: Budget | None = None,
    guard_band: float = 0.0,
) -> LimitDecision:
    """Decide on a limit to one side.

    Args:
        value: the measured value.
        limit: the limit; a value at it is within it.
        upper: whether it is the greatest value allowed, not the least.
        budget: of the value; None where its uncertainty is not known.
        guard_band: how many expanded uncertainties the value must keep from the limit; 0 is simple
            acceptance. A value without a known uncertainty is not accepted by a guard band.
    """
    reach = 0.0 if budget is None else budget.expanded
    guard = guard_band * reach
    accepted = _within(value, limit - guard if upper else limit + guard, upper=upper)
    if guard_band and budget is None:
        accepted = False
    probability = None
    if budget is not None:
        deviation = budget.deviation if upper else budget.deviation.mirrored
        probability = deviation.within(limit - value if upper else value - limit)  # 7.3
    return LimitDecision(
        value=value,
        limit=limit,
        upper=upper,
        guard=guard,
        accepted=accepted,
        probability=probability,
    )


def most_risk(guard_band: float, confidence: float = 0.95) -> float:
    """The greatest probability that an accepted value is beyond its limit, for a normal one, 8.3.

    It is 0.5 at the limit itself, and 0.025 with a guard band of one expanded uncertainty.
    """
    return 1 - t_cdf(guard_band * two_sided_t(confidence, math.inf), math.inf)


def rule_words(guard_band: float) -> str:
    """The decision rule as a report states it."""
    risk = f"{100 * most_risk(guard_band):.2g} %"
    if not guard_band:
        return (
            "simple acceptance (JCGM 106:2012, 8.2): a value at its limit or within it is "
            "accepted, whatever its U; one at the limit is wrongly accepted with a probability of "
            f"{risk}"
        )
    return (
        f"guarded acceptance (JCGM 106:2012, 8.3): a value is accepted if it keeps {guard_band:g} "
        f"U from its limit; one just accepted is wrongly accepted with a probability of {risk}"
    )


def _within(value: float, limit: float, *, upper: bool) -> bool:
    return not over(value, limit) if upper else not under(value, limit)
