"""The crush cell: bore, area, and the conversion between force and stress."""

import math

STANDARD_BORE_IN = 2.0
#: Rating of press and cell in psi if none is configured.
DEFAULT_RATING_PSI = 15_000.0

# Ours: two per cent over the target, in steps that a gauge shows.
_CEILING_OVER = 0.02
_LEAST_OVER = 0.01
_CEILING_STEPS_LBF = (50, 1)


def area_in2(bore_in: float) -> float:
    """Area of a round bore in in2."""
    return math.pi / 4 * bore_in**2


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
