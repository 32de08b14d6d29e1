"""Uncertainty of a measured value by the GUM: components, their combination, the budget.

Source: JCGM 100:2008 (clauses from memory). Components are assumed independent.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from ramphold.method.distributions import two_sided_t


class Shape(StrEnum):
    """The distribution behind the uncertainty of a component."""

    READINGS = "repeated readings"
    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    U_SHAPED = "u-shaped"
    STEP = "digital step"


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
    """

    name: str
    u: float
    sensitivity: float = 1.0
    dof: float = math.inf
    shape: Shape = Shape.NORMAL

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
        k: coverage factor, Student's t for `dof` truncated to a whole number.
        expanded: `k` times `u`.
    """

    value: float
    unit: str
    components: tuple[Component, ...]
    confidence: float
    u: float
    dof: float
    k: float
    expanded: float

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
    """Combine components into the uncertainty of a result, GUM 5.1.2 and G.4.1."""
    held = tuple(components)
    u = math.hypot(*(part.contribution for part in held))
    spread = math.fsum((part.contribution / u) ** 4 / part.dof for part in held) if u else 0.0
    dof = 1 / spread if spread else math.inf
    k = two_sided_t(confidence, dof if math.isinf(dof) else max(math.floor(dof), 1))
    return Budget(
        value=value,
        unit=unit,
        components=held,
        confidence=confidence,
        u=u,
        dof=dof,
        k=k,
        expanded=k * u,
    )


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
