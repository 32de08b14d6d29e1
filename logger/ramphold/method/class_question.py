"""What the probability of a class is worked out from."""

from dataclasses import dataclass

from ramphold.method.precision import Spread
from ramphold.method.sieve_openings import SievePair


@dataclass(frozen=True, slots=True, kw_only=True)
class Replicated:
    """The specimens of one stress: mean fines in %, their number, and their variance in %^2."""

    stress_psi: float
    mean_pct: float
    n: int
    variance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """What is known of the scatter near the limit, in %.

    Attributes:
        spread: of a single specimen, by replicates and control sand together.
        control: of a single specimen, by the control sand alone; None without one.
        between: of what the specimens of one sample share; None if nothing is known of it.
    """

    spread: Spread
    control: Spread | None
    between: Spread | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassQuestion:
    """The question of the class.

    Attributes:
        stresses: what was found at each stress, lowest first.
        scatter: of specimens, and of what they share.
        sieves: the pair of sieves; None where its effect is not considered.
        limit_pct: greatest mean fines in %.
    """

    stresses: tuple[Replicated, ...]
    scatter: Scatter
    sieves: SievePair | None
    limit_pct: float
