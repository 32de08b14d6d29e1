"""The crush cell: bore, area, and the conversion between force and stress."""

import math

STANDARD_BORE_IN = 2.0
#: Rating of press and cell in psi if none is configured.
DEFAULT_RATING_PSI = 15_000.0
#: Least and greatest bore of a crush cell in inches; one outside is a mistake in the unit. The
#: standard allows up to 3 in (ISO 13503-2:2006, 11.3, from memory); the rest is room of ours.
POSSIBLE_BORES_IN = (0.5, 6.0)
#: A bore outside these is unlike the usual cell's 2 in, whose wear is within half a per cent.
USUAL_BORES_IN = (1.98, 2.02)

# Ours: two per cent over the target, in steps that a gauge shows.
_CEILING_OVER = 0.02
_LEAST_OVER = 0.01
_CEILING_STEPS_LBF = (50, 1)


def area_in2(bore_in: float) -> float:
    """Area of a round bore in in2."""
    return math.pi / 4 * bore_in**2


def bore_fault(bore_in: float) -> str:
    """Why a bore in inches is no crush cell's; empty if it may be one."""
    least_in, greatest_in = POSSIBLE_BORES_IN
    if least_in <= bore_in <= greatest_in:
        return ""
    return (
        f"a bore of {bore_in:g} in is no crush cell's: expected {least_in:g} to {greatest_in:g} in "
        f"(usual: {STANDARD_BORE_IN:g} in, 50.8 mm); look at number and unit"
    )


def is_usual_bore(bore_in: float) -> bool:
    """Whether a bore in inches is the usual one."""
    least_in, greatest_in = USUAL_BORES_IN
    return least_in <= bore_in <= greatest_in


def force_lbf(stress_psi: float, bore_in: float) -> float:
    """The force in lbf that produces a stress in psi over the bore."""
    return stress_psi * area_in2(bore_in)


def stress_psi(force_lbf: float, bore_in: float) -> float:
    """The stress in psi that a force in lbf produces over the bore."""
    return force_lbf / area_in2(bore_in)


def default_ceiling_lbf(target_lbf: float, rating_lbf: float) -> float:
    """The force in lbf to stay under: 2 % above the target, rounded down, at most the rating.

    It is rounded down to 50 lbf, or to 1 lbf if 50 lbf would leave less than 1 % above the
    target, or not at all if even that is too coarse.
    """
    ceiling = target_lbf * (1 + _CEILING_OVER)
    for step in _CEILING_STEPS_LBF:
        rounded = math.floor(ceiling / step) * step
        if rounded >= target_lbf * (1 + _LEAST_OVER):
            return min(float(rounded), rating_lbf)
    return min(ceiling, rating_lbf)
