"""The studentized range: the range of n results over their standard deviation, by chance."""

import math

# At these steps the trapezoid rule over a whole smooth bell is as good as exact.
_Z_STEP, _Z_REACH = 0.25, 8.0
_LOG_STEP, _LOG_REACH = 0.2, 6.0
_MOST_DOF = 1e4
_TOP, _CLOSE = 1000.0, 1e-7


def range_tail(ratio: float, n: int, dof: float) -> float:
    """Probability that the range of n results exceeds `ratio` standard deviations.

    Args:
        ratio: the range over a standard deviation known independently of these results.
        n: how many results, two or more.
        dof: degrees of freedom of that deviation, one or more; infinite where it is known.
    """
    if dof > _MOST_DOF:
        return _known_tail(ratio, n)
    # The known deviation is e^u times the true one; u is bell-shaped, narrower for larger dof.
    width = math.sqrt(2 / dof)
    low = -_LOG_REACH * max(width, 6 / dof)
    steps = math.ceil((_LOG_REACH * width - low) / (_LOG_STEP * width))
    total = weight = 0.0
    for index in range(steps + 1):
        u = low + index * _LOG_STEP * width
        density = math.exp(dof * (u + 0.5 - math.exp(2 * u) / 2))
        weight += density
        total += density * _known_tail(ratio * math.exp(u), n)
    return total / weight


def range_quantile(p: float, n: int, dof: float) -> float:
    """The ratio that the range of n results does not exceed with probability `p`, to 1e-7."""
    low, high = 0.0, _TOP
    while high - low > _CLOSE * high:
        middle = (low + high) / 2
        low, high = (middle, high) if range_tail(middle, n, dof) > 1 - p else (low, middle)
    return (low + high) / 2


def _known_tail(ratio: float, n: int) -> float:
    """The same for an exactly known deviation: n times the chance that one is the lowest."""
    steps = round(2 * _Z_REACH / _Z_STEP)
    total = 0.0
    for index in range(steps + 1):
        z = -_Z_REACH + index * _Z_STEP
        total += math.exp(-z * z / 2) * (_below(z + ratio) - _below(z)) ** (n - 1)
    return max(1 - n * total * _Z_STEP / math.sqrt(2 * math.pi), 0.0)


def _below(z: float) -> float:
    return math.erfc(-z / math.sqrt(2)) / 2
