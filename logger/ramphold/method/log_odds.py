"""Fines on a scale of log-odds, where they rise straight with the logarithm of stress.

Little fines go with a power of stress there, as on doubly logarithmic paper, and all fines never
exceed the charge; the scatter, which grows with the fines, is much the same all along.
"""

import math
from collections.abc import Iterable

from ramphold.errors import InputError
from ramphold.method.limits import FINES_PCT
from ramphold.method.precision import Spread, pool

__all__ = ["by_stress", "fines_pct", "has_odds", "log_odds", "spread_at_limit"]

_ALL_PCT = 100.0


def has_odds(fines_pct: float) -> bool:
    """Whether fines in % lie on the scale: neither none at all nor the whole charge."""
    return 0 < fines_pct < _ALL_PCT


def log_odds(fines_pct: float) -> float:
    """Log-odds of fines in %, above 0 and below 100."""
    return math.log(fines_pct) - math.log(_ALL_PCT - fines_pct)


def fines_pct(log_odds: float) -> float:
    """Fines in % from their log-odds, however far out."""
    return _ALL_PCT * (1 + math.tanh(log_odds / 2)) / 2


def by_stress(specimens: Iterable[tuple[float, float]]) -> dict[float, list[float]]:
    """Fines in % of the specimens of each stress in psi, lowest stress first.

    Raises:
        InputError: a stress that is not above zero, or a number that is not finite.
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
    """Spread in % that a single specimen has about the limit, from those of every stress.

    It is pooled within the stresses in log-odds and carried over to the limit. None where no
    stress has two specimens that lie on that scale.

    Raises:
        InputError: as `by_stress`.
    """
    groups = by_stress(specimens).values()
    within = pool([log_odds(fines) for fines in group if has_odds(fines)] for group in groups)
    if within is None:
        return None
    per_log_odds = limit_pct * (_ALL_PCT - limit_pct) / _ALL_PCT
    return Spread(sd=within.sd * per_log_odds, dof=within.dof)
