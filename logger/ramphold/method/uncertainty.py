"""Uncertainty of a measured value by the GUM: components, their combination, the budget.

Source: JCGM 100:2008 (clauses from memory). Components are assumed independent.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from ramphold.method.deviation import Deviation, evenly
from ramphold.method.distributions import two_sided_t


class Shape(StrEnum):
    """The distribution behind the uncertainty of a component."""

    READINGS = "repeated readings"
    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    U_SHAPED = "u-shaped"
    STEP = "digital step"
    ONE_SIDED = "one-sided"


# Square of the half-width over the variance, GUM 4.3.7 to 4.3.9 and F.2.2.1.
_DIVISORS = {Shape.RECTANGULAR: 3, Shape.TRIANGULAR: 6, Shape.U_SHAPED: 2, Shape.STEP: 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One source of uncertainty.

    Attributes:
        name: its source.
        u: its standard uncertainty, in the unit of its own quantity.
        sensitivity: change of the result per unit of that quantity.
        dof: degrees of freedom; infinite if the uncertainty counts as known exactly.
        shape: its distribution.
        amounts: of a one-sided source, by how much it may have raised the result, in the unit of
            the result: equally likely amounts. `u` is the root of their mean square.
        share: standard deviation of such an amount from result to result, as a share of it.
    """

    name: str
    u: float
    sensitivity: float = 1.0
    dof: float = math.inf
    shape: Shape = Shape.NORMAL
    amounts: tuple[float, ...] = ()
    share: float = 0.0

    @property
    def kind(self) -> str:
        """`A` if evaluated from repeated readings, otherwise `B`."""
        return "A" if self.shape is Shape.READINGS else "B"

    @property
    def contribution(self) -> float:
        """Its contribution to the result, as a standard uncertainty in the unit of the result."""
        return abs(self.sensitivity) * self.u


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """A result with its uncertainty and the sources of it.

    Attributes:
        value: the result.
        unit: its unit.
        components: the sources.
        confidence: coverage probability of `expanded`, such as 0.95.
        u: combined standard uncertainty, GUM 5.1.2.
        dof: effective degrees of freedom by Welch and Satterthwaite, not truncated, GUM G.4.1.
        k: coverage factor, Student's t for `dof` truncated to a whole number; with a one-sided
            source what `expanded` comes to.
        expanded: `k` times `u`; value less and plus this covers the truth with `confidence`.
        deviation: of the value from the truth, with what a one-sided source does to it.
    """

    value: float
    unit: str
    components: tuple[Component, ...]
    confidence: float
    u: float
    dof: float
    k: float
    expanded: float
    deviation: Deviation

    def share_pct(self, component: Component) -> float:
        """The share of a component in the combined variance in %; 0 if that is zero."""
        return 100 * (component.contribution / self.u) ** 2 if self.u else 0.0

    def as_component(self, name: str, sensitivity: float = 1.0) -> Component:
        """This result as a source of uncertainty of another one."""
        return Component(name=name, u=self.u, sensitivity=sensitivity, dof=self.dof)


def bounded(
    name: str,
    half_width: float,
    sensitivity: float = 1.0,
    *,
    shape: Shape = Shape.RECTANGULAR,
    dof: float = math.inf,
) -> Component:
    """A quantity known to lie within a half-width on either side, GUM 4.3.7 to 4.3.9."""
    u = half_width / math.sqrt(_DIVISORS[shape])
    return Component(name=name, u=u, sensitivity=sensitivity, dof=dof, shape=shape)


def step(name: str, step: float, sensitivity: float = 1.0) -> Component:
    """A reading of a digital display, GUM F.2.2.1: the step over root 12."""
    return bounded(name, step / 2, sensitivity, shape=Shape.STEP)


def combine(
    value: float, unit: str, components: Iterable[Component], *, confidence: float = 0.95
) -> Budget:
    """Combine components into the uncertainty of a result, GUM 5.1.2 and G.4.1.

    A result is not corrected for a one-sided source. Its square counts in full in the combined
    uncertainty (GUM F.2.4.5), and the expanded one is that which covers the truth. There may be
    one such source.
    """
    held = tuple(components)
    u, dof = _combined(held)
    deviation = deviation_by(held)
    whole = deviation
    if not math.isinf(deviation.dof):
        whole = replace(deviation, dof=max(math.floor(deviation.dof), 1))
    expanded = whole.reach(confidence)
    return Budget(
        value=value,
        unit=unit,
        components=held,
        confidence=confidence,
        u=u,
        dof=dof,
        k=expanded / u if u else two_sided_t(confidence, whole.dof),
        expanded=expanded,
        deviation=deviation,
    )


def deviation_by(components: Iterable[Component]) -> Deviation:
    """The deviation of a result from the truth by its sources; one of them may be one-sided."""
    held = tuple(components)
    u, dof = _combined([part for part in held if not part.amounts])
    for part in held:
        if part.amounts:
            amounts, weights = evenly(part.amounts)
            return Deviation(u=u, dof=dof, amounts=amounts, weights=weights, share=part.share)
    return Deviation(u=u, dof=dof)


def one_sided(name: str, amounts: tuple[float, ...], share: float = 0.0) -> Component:
    """A source that may have raised a result by one of several equally likely amounts.

    `share` is the standard deviation of an amount from result to result, as a share of it.
    """
    u = math.sqrt((1 + share**2) * math.fsum(one * one for one in amounts) / len(amounts))
    return Component(
        name=name, u=u, sensitivity=-1.0, shape=Shape.ONE_SIDED, amounts=amounts, share=share
    )


def of_mean(component: Component, n: int) -> Component:
    """A source of each of `n` results as one of their mean: what differs of an effect averages."""
    if not component.share:
        return component
    return one_sided(component.name, component.amounts, component.share / math.sqrt(n))


def _combined(parts: Sequence[Component]) -> tuple[float, float]:
    """The combined standard uncertainty, and its degrees of freedom."""
    u = math.hypot(*(part.contribution for part in parts))
    spread = math.fsum((part.contribution / u) ** 4 / part.dof for part in parts) if u else 0.0
    return u, 1 / spread if spread else math.inf


def stated(value: float, uncertainty: float) -> tuple[str, str]:
    """A value and its uncertainty as text: the uncertainty with two digits.

    Rounding to nearest removes less than 5 %, which EA-4/02 6.3 (from memory) allows. The value
    ends at the same decimal place.
    """
    if not uncertainty:
        return f"{value:g}", "0"
    # Through text, since rounding may add a digit: 0.0996 becomes 0.10.
    rounded = Decimal(f"{uncertainty:.1e}")
    return f"{Decimal(str(value)).quantize(rounded, ROUND_HALF_UP):f}", f"{rounded:f}"
