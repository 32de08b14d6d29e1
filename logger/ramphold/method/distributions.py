"""Student's t and Fisher's F: probabilities and quantiles from the incomplete beta function.

The normal distribution is that of the standard library. `dof` may be infinite everywhere.
"""

import math
from collections.abc import Callable
from functools import lru_cache
from statistics import NormalDist

_NORMAL = NormalDist()
# Above this a t quantile equals the normal one to a millionth.
_ENDLESS_DOF = 1e6
_TINY = 1e-300
_MOST_STEPS = 10_000
# Logarithms of the smallest and largest quantile searched.
_LOG_RANGE = (-60.0, 700.0)


def t_cdf(t: float, dof: float) -> float:
    """Probability that Student's t with `dof` degrees of freedom is at most `t`."""
    if dof > _ENDLESS_DOF:
        return _NORMAL.cdf(t)
    tail = _t_tail(abs(t), dof)
    return tail if t < 0 else 1 - tail


@lru_cache(maxsize=256)  # budgets need the same few again and again
def t_quantile(p: float, dof: float) -> float:
    """The value that Student's t does not exceed with probability `p`, 0 < p < 1."""
    if dof > _ENDLESS_DOF:
        return _NORMAL.inv_cdf(p)
    if p == 0.5:  # noqa: PLR2004 - the middle
        return 0.0
    size = _invert(lambda t: _t_tail(t, dof), min(p, 1 - p))
    return math.copysign(size, p - 0.5)


def two_sided_t(confidence: float, dof: float) -> float:
    """The value that |t| does not exceed with probability `confidence`, such as 0.95."""
    return t_quantile((1 + confidence) / 2, dof)


def f_tail(f: float, dof1: float, dof2: float) -> float:
    """Probability that F with `dof1` over `dof2` degrees of freedom is above `f`."""
    if f <= 0:
        return 1.0
    if math.isinf(f):
        return 0.0
    whole = dof2 + dof1 * f
    return _beta(dof2 / whole, dof1 * f / whole, dof2 / 2, dof1 / 2)


def f_quantile(p: float, dof1: float, dof2: float) -> float:
    """The value that F with `dof1` over `dof2` does not exceed with probability `p`, 0 < p < 1."""
    return _invert(lambda f: f_tail(f, dof1, dof2), 1 - p)


def _t_tail(t: float, dof: float) -> float:
    """Probability of more than `t`, for `t` of zero or more."""
    if math.isinf(t):
        return 0.0
    square = t * t
    return _beta(dof / (dof + square), square / (dof + square), dof / 2, 0.5) / 2


def _invert(tail: Callable[[float], float], p: float) -> float:
    """Where a falling tail equals `p`, by bisection in the logarithm, which always converges."""
    low, high = _LOG_RANGE
    while low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if tail(math.exp(middle)) > p else (low, middle)
    return math.exp(middle)


def _beta(x: float, rest: float, a: float, b: float) -> float:
    """Regularised incomplete beta function at `x`; `rest` is 1 - x, without cancellation."""
    if x <= 0 or rest <= 0:
        return 0.0 if x <= 0 else 1.0
    log_front = a * math.log(x) + b * math.log(rest) - _log_beta(a, b)
    if x < (a + 1) / (a + b + 2):
        return math.exp(log_front) * _continued(x, a, b) / a
    return 1 - math.exp(log_front) * _continued(rest, b, a) / b


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def _continued(x: float, a: float, b: float) -> float:
    """The continued fraction of the incomplete beta function, by Lentz's method.

    Source: NIST Digital Library of Mathematical Functions 8.17.22, from memory.
    """
    value = front = 1.0
    back = 0.0
    for step in range(1, _MOST_STEPS):
        half = step // 2
        part = -(a + half) * (a + b + half) if step % 2 else half * (b - half)
        term = part * x / ((a + step - 1) * (a + step))
        back = 1 / _not_zero(1 + term * back)
        front = _not_zero(1 + term / front)
        value *= back * front
        if abs(back * front - 1) < math.ulp(1.0):
            break
    return 1 / value


def _not_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
