"""Noise of a signal that moves: what is left when every straight line is taken out of it."""

import math
import statistics
from collections.abc import Sequence

__all__ = ["noise_sd"]

_LEAST = 5
# Of normal noise: standard deviation over median absolute deviation (from memory: 1/0.6745).
_SD_PER_MAD = 1.4826


def noise_sd(values: Sequence[float]) -> float | None:
    """Standard deviation of the noise, in the values' unit; None of fewer than five.

    From the median size of the second differences, whose variance is six times that of the noise:
    a steady ramp leaves nothing in them, and a spike now and then moves no median.
    """
    if len(values) < _LEAST:
        return None
    bends = (
        abs(before - 2 * middle + after)
        for before, middle, after in zip(values, values[1:], values[2:], strict=False)
    )
    return _SD_PER_MAD * statistics.median(bends) / math.sqrt(6)
