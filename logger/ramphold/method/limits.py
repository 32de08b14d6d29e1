"""Limits of the standards, and how a measured value is compared with one.

All values are from memory of ISO 13503-2:2006 6.4, 6.6 and 11.5 and API RP 56 9.4 (the clause
numbers are the least certain part); check them against the edition in use.
"""

from dataclasses import dataclass

#: Greatest mean fines, in % of the charge, at which a stress still counts for the crush class.
FINES_PCT = 10.0
#: Fewest specimens whose mean counts for a stress.
REPLICATES = 3
#: Ours: most that a blank may lose into the pan, in % of its charge. It is what the standard lets
#: a sieving lose.
MOST_BLANK_PCT = 0.5

# Far below the resolution of any balance, far above the rounding of floats in a mean.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class SievingLimits:
    """Limits of a sieve analysis, in % of the recovered sum.

    Attributes:
        in_size_pct: least share between the two sieves that name the size.
        coarse_pct: greatest share on the coarsest sieve of the stack.
        fine_pct: greatest share in the pan.
        loss_pct: greatest difference between recovered sum and charge, in % of the charge; above
            it the sieving is void.
    """

    in_size_pct: float
    coarse_pct: float
    fine_pct: float
    loss_pct: float


FRACTURING = SievingLimits(in_size_pct=90.0, coarse_pct=0.1, fine_pct=1.0, loss_pct=0.5)
GRAVEL_PACK = SievingLimits(in_size_pct=96.0, coarse_pct=0.1, fine_pct=2.0, loss_pct=0.5)


@dataclass(frozen=True, slots=True)
class CrushLimit:
    """A suggested test stress in psi, and the greatest fines at it in % of the charge."""

    stress_psi: float
    fines_pct: float


#: Suggested stress and greatest fines by size, API RP 56.
RP56_CRUSH = {
    "6/12": CrushLimit(2000, 20),
    "8/16": CrushLimit(2000, 18),
    "12/20": CrushLimit(3000, 16),
    "16/30": CrushLimit(3000, 14),
    "20/40": CrushLimit(4000, 14),
    "30/50": CrushLimit(4000, 10),
    "40/70": CrushLimit(5000, 8),
    "70/140": CrushLimit(5000, 6),
}


def over(value: float, limit: float) -> bool:
    """Whether an unrounded value is above its limit; a value at the limit is not.

    A mean of 9.9, 10.0 and 10.1 is at a limit of 10, whatever the rounding of floats.
    """
    return value > limit + _ROUNDING


def under(value: float, limit: float) -> bool:
    """Whether an unrounded value is below its limit; a value at the limit is not."""
    return value < limit - _ROUNDING
