"""Noise of a signal that moves: what is left when every straight line is taken out of it."""

import math
import statistics
from collections.abc import Sequence

from ramphold.core._bounds import between

_LEAST = 5
# Of normal noise: standard deviation over median absolute deviation (from memory: 1/0.6745).
_SD_PER_MAD = 1.4826
_ROOT_OF_6 = math.sqrt(6)


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
    return _SD_PER_MAD * statistics.median(bends) / _ROOT_OF_6


class NoiseLevel:
    """The same of readings that come one by one: steps of a share towards the median.

    A lever that slips bends a pull as noise does, and only ever upwards. So bends count only where
    the load has not risen over them, which noise alone does as often as not, whatever the bend.
    """

    _STEP = 0.06
    #: What is this many times the median is rare, unless the noise has grown. A pair of false
    #: readings bends as much twice; what comes so many readings later is another one.
    _RARE, _OF_A_PAIR, _APART, _LEAP = 4.0, 2, 5, 1.0
    _LEAST, _MOST = 0.2, 50.0

    def __init__(self) -> None:
        self._last: tuple[float, float] | None = None
        self._median = 0.7
        self._rare = self._since_rare = 0

    @property
    def sd(self) -> float:
        """Standard deviation of the noise, in the values' unit."""
        return _SD_PER_MAD * self._median / _ROOT_OF_6

    def feed(self, value: float) -> None:
        """Take the next value."""
        self._since_rare += 1
        before, last = self._last or (value, value)
        if self._last is not None and value <= before:
            self._bent(abs(before - 2 * last + value))
        self._last = last, value

    def _bent(self, bend: float) -> None:
        step = self._STEP if bend > self._median else -self._STEP
        if bend > self._RARE * self._median:
            self._rare = self._rare + 1 if self._since_rare < self._APART else 1
            self._since_rare = 0
            if self._rare > self._OF_A_PAIR:
                step = self._LEAP
        self._median = between(self._median * (1 + step), self._LEAST, self._MOST)
