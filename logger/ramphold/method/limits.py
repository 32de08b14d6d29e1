"""Limits of the standards, and how a measured value is held against one.

All figures are from memory, of ISO 13503-2:2006 6.4, 6.6 and 11.5 and API RP 56 9.4 (the clause
numbers being the least certain part): a laboratory checks them against the edition it holds.
"""

from dataclasses import dataclass

__all__ = [
    "FINES_PCT",
    "FRACTURING",
    "GRAVEL_PACK",
    "REPLICATES",
    "RP56_CRUSH",
    "CrushLimit",
    "SievingLimits",
    "over",
    "under",
]

#: Greatest mean fines, in % of the charge, at which a stress still counts for the crush class.
FINES_PCT = 10.0
#: Fewest specimens whose mean counts for a stress.
REPLICATES = 3

# Far under what any balance resolves, far over what floats lose in a mean.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class SievingLimits:
    """What a sieve analysis must keep to, in % of the recovered sum.

    Attributes:
        in_size_pct: least share between the two sieves that name the size.
        coarse_pct: most that may stay on the coarsest sieve of the stack.
        fine_pct: most that may reach the pan.
        loss_pct: most that the recovered sum may differ from the charge, in % of the charge;
            beyond it the sieving is void.
    """

    in_size_pct: float
    coarse_pct: float
    fine_pct: float
    loss_pct: float


FRACTURING = SievingLimits(in_size_pct=90.0, coarse_pct=0.1, fine_pct=1.0, loss_pct=0.5)
GRAVEL_PACK = SievingLimits(in_size_pct=96.0, coarse_pct=0.1, fine_pct=2.0, loss_pct=0.5)


@dataclass(frozen=True, slots=True)
class CrushLimit:
    """A suggested test stress in psi, and the most fines it may make, in % of the charge."""

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
    """Whether an unrounded value lies above its limit; a value on the limit does not.

    A mean of 9.9, 10.0 and 10.1 is on a limit of 10 whatever the floats make of it.
    """
    return value > limit + _ROUNDING


def under(value: float, limit: float) -> bool:
    """Whether an unrounded value lies below its limit; a value on the limit does not."""
    return value < limit - _ROUNDING
