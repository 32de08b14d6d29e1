"""Fines of a crushed specimen, and a summary of replicates."""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from ramphold.errors import InputError

#: Ours: a pan may weigh this much less in g with its fines than without them. Two weighings of an
#: empty pan on a balance that shows 0.001 g differ by no more.
PAN_REPEATS_G = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Replicates:
    """Specimens crushed at one stress.

    Attributes:
        n: their number.
        mean_pct: mean of their fines, in % of the charge.
        sd_pct: sample standard deviation (n - 1); None for a single specimen.
    """

    n: int
    mean_pct: float
    sd_pct: float | None


def fines_pct(pan_g: float, charge_g: float) -> float:
    """Fines in % of the charge: all that passes the lower sieve of the size.

    Source: ISO 13503-2:2006 11.5 and 11.6, from memory.

    Raises:
        InputError: a mass is negative or not finite, or the charge is zero or less than the pan.
    """
    if not math.isfinite(charge_g) or charge_g <= 0:
        raise InputError(f"the charge is {charge_g:g} g: expected a mass above zero")
    if not 0 <= pan_g <= charge_g:
        raise InputError(f"the pan holds {pan_g:g} g: expected 0 g to the charge, {charge_g:g} g")
    return min(100 * pan_g / charge_g, 100.0)  # floats make 100.00000000000001 of all of 0.013 g


def summarise(fines: Sequence[float]) -> Replicates:
    """Number, mean and standard deviation (n - 1) of fines in %.

    Raises:
        InputError: there are none, or one is not a percentage.
    """
    if not fines or not all(0 <= value <= 100 for value in fines):  # noqa: PLR2004 - per cent
        raise InputError(f"the fines are {list(fines)}: expected at least one number from 0 to 100")
    return Replicates(
        n=len(fines),
        mean_pct=math.fsum(fines) / len(fines),
        sd_pct=statistics.stdev(fines) if len(fines) > 1 else None,
    )
