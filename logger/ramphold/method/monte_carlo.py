"""Propagation of distributions: a result's interval by draws from its sources, beside the GUM's.

Source: JCGM 101:2008 clauses 5 to 8, from memory.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ramphold.method.budgets import but_scale
from ramphold.method.uncertainty import Budget, Component, Shape

Draws = npt.NDArray[np.float64]

#: As many as give a 95 % interval to about two digits, clause 7.2.2.
DRAWS = 1_000_000

_HALF_WIDTHS = {Shape.RECTANGULAR: 3, Shape.STEP: 3, Shape.TRIANGULAR: 6, Shape.U_SHAPED: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Propagated:
    """What the draws of a result look like.

    Attributes:
        mean, u: their mean and standard deviation.
        low, high: the interval with equal probability beyond either end, clause 7.7.
        confidence: its coverage probability.
    """

    mean: float
    u: float
    low: float
    high: float
    confidence: float

    def bears_out(self, budget: Budget) -> bool:
        """Whether a budget's interval agrees to its two digits of u, clause 8."""
        tolerance = _half_digit(budget.u)
        return (
            abs(budget.value - budget.expanded - self.low) <= tolerance
            and abs(budget.value + budget.expanded - self.high) <= tolerance
        )


def generator(seed: int) -> np.random.Generator:
    """A generator of draws; the same seed gives the same draws."""
    return np.random.Generator(np.random.PCG64(seed))


def draw(component: Component, chance: np.random.Generator, draws: int = DRAWS) -> Draws:
    """Deviations of one source about zero, in its own unit, clause 6.4.

    An uncertainty of few degrees of freedom is drawn from Student's t, clause 6.4.9: its deviation
    is larger than `u`, since `u` is itself uncertain.
    """
    if component.shape in _HALF_WIDTHS:
        half_width = component.u * math.sqrt(_HALF_WIDTHS[component.shape])
        match component.shape:
            case Shape.TRIANGULAR:
                return (
                    chance.triangular(-half_width, 0.0, half_width, draws)
                    if half_width
                    else (np.zeros(draws))
                )
            case Shape.U_SHAPED:
                return half_width * np.sin(chance.uniform(0.0, 2 * math.pi, draws))
            case _:
                return chance.uniform(-half_width, half_width, draws)
    if component.amounts:
        amounts = chance.choice(np.array(component.amounts), draws)
        return amounts * (1 + component.share * chance.normal(0.0, 1.0, draws))
    if math.isinf(component.dof):
        return chance.normal(0.0, component.u, draws)
    return component.u * chance.standard_t(component.dof, draws)


def draw_sum(
    components: Iterable[Component], chance: np.random.Generator, draws: int = DRAWS
) -> Draws:
    """Deviations of a result that is a sum of its sources, each by its sensitivity."""
    total = np.zeros(draws)
    for one in components:
        if one.u and one.sensitivity:
            total += one.sensitivity * draw(one, chance, draws)
    return total


def propagated(values: Draws, *, confidence: float = 0.95) -> Propagated:
    """Mean, deviation and interval of the draws of a result."""
    low, high = np.quantile(values, ((1 - confidence) / 2, (1 + confidence) / 2))
    return Propagated(
        mean=float(values.mean()),
        u=float(values.std(ddof=1)),
        low=float(low),
        high=float(high),
        confidence=confidence,
    )


def fines_by_draws(
    pan: Budget, charge: Budget, others: Iterable[Component], *, seed: int, draws: int = DRAWS
) -> Propagated:
    """Fines in % of the charge by draws, for the same sources as `budgets.fines_budget`."""
    chance = generator(seed)
    pan_g = pan.value + draw_sum(but_scale(pan), chance, draws)
    charge_g = charge.value + draw_sum(but_scale(charge), chance, draws)
    fines_pct = 100 * pan_g / charge_g + draw_sum(others, chance, draws)
    return propagated(fines_pct, confidence=pan.confidence)


def _half_digit(u: float) -> float:
    """Half of the last digit of an uncertainty that is written with two, clause 7.9.2."""
    return 0.5 * 10.0 ** (math.floor(math.log10(u)) - 1) if u else 0.0
