"""A converter behind a sensor: what one conversion gave, or why it gave nothing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from ramphold.core import Quality

__all__ = ["Conversion", "Converter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """One conversion, as it came.

    Attributes:
        t_ns: monotonic time in ns at which it ended, or at which it was found to be missing.
        quality: GOOD or SATURATED where there is a count.
        count: the converter's signed code.
        mv: the same in mV, where the converter knows.
        supply_mv: the sensor's supply in mV, where it is measured too.
        skipped: conversions that ended unread between this one and the one before.
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
    """A converter that is open. One thread uses it; after a PortError only `close` is called."""

    def read(self) -> Sequence[Conversion]:
        """Wait for conversions; those that came, in order, or none after about `READ_WAIT_S`.

        Raises:
            PortError: the converter can't be used; says what to do.
        """

    def close(self) -> None:
        """Give its pins or files back; a second time does nothing."""
