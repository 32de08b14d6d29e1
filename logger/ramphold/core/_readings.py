"""What an instrument says at one moment: a force, or why there is none."""

import math
from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Quality", "Reading"]


class Quality(StrEnum):
    """How far a reading can be believed; only the first two carry a number."""

    GOOD = "good"
    UNSTEADY = "unsteady"
    SATURATED = "saturated"
    UNDER_RANGE = "under range"
    NOT_READY = "not ready"
    GARBLED = "garbled"
    FAULT = "fault"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading of the load, as it came.

    Attributes:
        t_ns: monotonic time of arrival in ns.
        force_lbf: force on the specimen in lbf; NaN where the quality carries no number.
        quality: how far it can be believed.
        raw: the digits of a text indicator as an integer, or a converter's count.
        exponent: power of ten of `raw`, so that a printed value is raw x 10**exponent.
        unit: unit of the printed value, or `count`.
        line: the bytes themselves, kept only where they could not be decoded.
    """

    t_ns: int
    force_lbf: float
    quality: Quality = Quality.GOOD
    raw: int = 0
    exponent: int = 0
    unit: str = "lbf"
    line: bytes = b""

    @property
    def usable(self) -> bool:
        """Whether it carries a force that a judgement may rest on."""
        return (
            self.quality in (Quality.GOOD, Quality.UNSTEADY)
            and math.isfinite(self.force_lbf)
            and abs(self.force_lbf) <= IMPLAUSIBLE_LBF
        )


#: No hand-pumped press comes near this; a larger number is rubbish, however well it decodes.
IMPLAUSIBLE_LBF = 1e7
