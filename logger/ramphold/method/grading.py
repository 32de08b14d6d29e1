"""Sizes that a given share of a proppant passes, such as those at 10, 50 and 90 %."""

import math
from collections.abc import Mapping
from itertools import pairwise

from ramphold.errors import InputError
from ramphold.method.sieves import PAN, Size, opening_mm

__all__ = ["size_at_mm"]

_ALL_PCT = 100.0


def size_at_mm(masses_g: Mapping[int, float], size: Size, passing_pct: float) -> float | None:
    """Size in mm that a share of the recovered sum passes, linear in the opening between sieves.

    At 50 % it is the median of `sieving.analyse`; the standard fixes no interpolation.

    Args:
        masses_g: mass in g by sieve number, `sieves.PAN` for the pan.
        size: what the proppant claims to be; a sieve of its stack that is left out holds nothing.
        passing_pct: share in %.

    Returns:
        None where that share lies above the coarsest sieve or in the pan.

    Raises:
        InputError: an unknown sieve, a mass that is negative or not finite, no mass, or a share
            not between 0 and 100.
    """
    if not 0 < passing_pct < _ALL_PCT:
        raise InputError(f"a share of {passing_pct:g} %: expected more than 0 and less than 100")
    held_g = dict.fromkeys((*size.stack, PAN), 0.0) | dict(masses_g)
    total_g = math.fsum(held_g.values())
    if not all(0 <= mass < math.inf for mass in held_g.values()) or total_g <= 0:
        raise InputError("expected masses of 0 g or more, and some mass on a sieve or in the pan")
    wanted_g = total_g * (1 - passing_pct / _ALL_PCT)
    held = sorted(((opening_mm(sieve), mass) for sieve, mass in held_g.items()), reverse=True)
    retained_g = held[0][1]
    # The pan has no opening to go down to.
    for (above_mm, _), (below_mm, mass_g) in pairwise(held[:-1]):
        if mass_g and retained_g <= wanted_g <= retained_g + mass_g:
            return above_mm - (wanted_g - retained_g) / mass_g * (above_mm - below_mm)
        retained_g += mass_g
    return None
