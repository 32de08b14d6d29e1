"""The contract of an analogue-to-digital converter, and one conversion of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from ramphold.core import Quality


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """One conversion, or why it is missing.

    Attributes:
        t_ns: monotonic time in ns at which it ended, or was found missing.
        quality: GOOD or SATURATED if there is a count.
        count: the signed code.
        mv: the same in mV, if the converter has a scale.
        supply_mv: the sensor's supply in mV, if it is measured too.
        skipped: conversions between the one before and this one that were not read.
    """

    t_ns: int
    quality: Quality = Quality.GOOD
    count: int = 0
    mv: float = math.nan
    supply_mv: float = math.nan
    skipped: int = 0

    @property
    def counted(self) -> bool:
        """Whether there is a count."""
        return self.quality in (Quality.GOOD, Quality.SATURATED)


class Converter(Protocol):
    """An open converter. One thread uses it; after a PortError only `close` is called."""

    def read(self) -> Sequence[Conversion]:
        """Wait for conversions and return them in order; none after about `READ_WAIT_S`.

        Raises:
            PortError: the converter can't be used; says what to do.
        """

    def close(self) -> None:
        """Release its pins or files; a second call does nothing."""
