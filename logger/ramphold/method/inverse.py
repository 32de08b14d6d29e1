"""Back from a fit: the x that a measured y stands for."""

from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.distributions import two_sided_t
from ramphold.method.regression import Fit

__all__ = ["Inverse", "invert"]

# How far beyond the fitted points an interval's end is looked for, as a share of their span.
_MARGIN = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Inverse:
    """The x that a measured y stands for, and the interval that a single reading leaves open."""

    x: float
    low: float
    high: float


def invert(fitted: Fit, y: float, *, confidence: float = 0.95) -> Inverse:
    """The x at which the fit is y, with the interval for one further reading of y.

    Raises:
        InputError: y, or an end of its interval, lies outside the fitted span or turns there.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods 4.6.1.7, from memory.
    """
    factor = two_sided_t(confidence, fitted.dof)
    ends = sorted(_cross(fitted, y, side * factor) for side in (1, -1))
    return Inverse(x=_cross(fitted, y, 0.0), low=ends[0], high=ends[1])


def _cross(fitted: Fit, y: float, factor: float) -> float:
    """Where the fit, or the edge of its band `factor` uncertainties away, comes to y."""
    reach = _MARGIN * (fitted.high - fitted.low) if factor else 0.0
    low, high = fitted.low - reach, fitted.high + reach

    def gap(x: float) -> float:
        return fitted.at(x) + factor * fitted.u_at(x, single=True) - y

    below = gap(low)
    if below * gap(high) > 0:
        raise InputError(
            f"a reading of {y:g} lies outside the fitted span: expected one between "
            f"{fitted.at(fitted.low):g} and {fitted.at(fitted.high):g}"
        )
    while low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if gap(middle) * below > 0 else (low, middle)
    return middle
