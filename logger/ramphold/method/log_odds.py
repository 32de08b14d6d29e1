"""Fines on the scale of log-odds, where they are linear in the logarithm of stress.

On this scale small fines follow a power of stress, as on log-log paper, fines never exceed the
charge, and the scatter, which grows with the fines, is nearly constant.
"""

import math
from collections.abc import Iterable

from ramphold.errors import InputError
from ramphold.method.limits import FINES_PCT
from ramphold.method.precision import Spread, pool

_ALL_PCT = 100.0


def has_odds(fines_pct: float) -> bool:
    """Whether fines in % have log-odds: they are neither zero nor the whole charge."""
    return 0 < fines_pct < _ALL_PCT


def log_odds(fines_pct: float) -> float:
    """Log-odds of fines in %, above 0 and below 100."""
    return math.log(fines_pct) - math.log(_ALL_PCT - fines_pct)


def fines_pct(log_odds: float) -> float:
    """Fines in % from any log-odds."""
    return _ALL_PCT * (1 + math.tanh(log_odds / 2)) / 2


def per_log_odds(fines_pct: float) -> float:
    """How many % the fines change for a small change of their log-odds."""
    return fines_pct * (_ALL_PCT - fines_pct) / _ALL_PCT


def by_stress(specimens: Iterable[tuple[float, float]]) -> dict[float, list[float]]:
    """Fines in % of the specimens of each stress in psi, lowest stress first.

    Raises:
        InputError: a stress is not above zero, or a number is not finite.
    """
    groups: dict[float, list[float]] = {}
    for stress_psi, fines in sorted(specimens, key=lambda specimen: specimen[0]):
        if not (math.isfinite(stress_psi) and math.isfinite(fines)) or stress_psi <= 0:
            raise InputError(
                f"{fines:g} % fines at {stress_psi:g} psi: "
                "expected finite numbers, and a stress above zero"
            )
        groups.setdefault(stress_psi, []).append(fines)
    return groups


def spread_at_limit(
    specimens: Iterable[tuple[float, float]], limit_pct: float = FINES_PCT
) -> Spread | None:
    """The spread in % of a single specimen near the limit, from the specimens of every stress.

    It is pooled within the stresses in log-odds and converted at the limit. None if no stress has
    two specimens with log-odds.

    Raises:
        InputError: as `by_stress`.
    """
    groups = by_stress(specimens).values()
    within = pool([log_odds(fines) for fines in group if has_odds(fines)] for group in groups)
    if within is None:
        return None
    return Spread(sd=within.sd * per_log_odds(limit_pct), dof=within.dof)
