"""Whole grains that pass the sieve after the crush: how many, as far as it is known.

If that sieve is wider than the one of the cut, grains between the two openings are weighed as
fines. If it is not, none are. So the effect is never negative.
"""

import math

#: Ours, from memory of sievings: standard deviation of what passes of one charge from that of the
#: next, as a share of it.
PASSING_SHARE = 0.25

# As many equally likely amounts stand for the distribution of the effect.
_AMOUNTS = 40


def amounts_by_openings(
    apart_mm: float, half_widths_mm: tuple[float, float], grading_pct_mm: float
) -> tuple[float, ...]:
    """Equally likely amounts in % of the charge, by the openings of two sieves.

    Args:
        apart_mm: how much wider the sieve after the crush is than that of the cut, in mm.
        half_widths_mm: how far either mean opening may be off, in mm; every deviation within it
            is as likely as another (JCGM 100:2008 4.3.7).
        grading_pct_mm: how much of the charge lies in a mm of opening, in %/mm.
    """
    wide, narrow = max(half_widths_mm), min(half_widths_mm)
    return tuple(
        grading_pct_mm * max(apart_mm + _difference((i + 0.5) / _AMOUNTS, wide, narrow), 0.0)
        for i in range(_AMOUNTS)
    )


def _difference(p: float, wide: float, narrow: float) -> float:
    """Quantile of the sum of two rectangular deviations, a trapezium."""
    if p > 0.5:  # noqa: PLR2004 - the middle, about which it is symmetric
        return -_difference(1 - p, wide, narrow)
    if 2 * wide * p <= narrow:
        return math.sqrt(8 * wide * narrow * p) - wide - narrow
    return 2 * wide * p - wide
