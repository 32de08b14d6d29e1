"""What an instrument says at one moment: a force or a mass, or why there is none."""

import math
from dataclasses import dataclass
from enum import StrEnum

from msgspec import Struct

__all__ = ["MassReading", "MassState", "Quality", "Reading"]


class Quality(StrEnum):
    """How far a reading can be believed; only the first two carry a number."""

    GOOD = "good"
    UNSTEADY = "unsteady"
    SATURATED = "saturated"
    UNDER_RANGE = "under range"
    OVER_RANGE = "over range"
    NOT_READY = "not ready"
    STUCK_LOW = "stuck low"
    PULSE_TOO_LONG = "clock pulse too long"
    READ_TOO_LATE = "read too late"
    UNCALIBRATED = "uncalibrated"
    GARBLED = "garbled"
    FAULT = "fault"


class Reading(Struct, frozen=True, kw_only=True):
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


class MassState(StrEnum):
    """What a balance says of itself; only the first two carry a number."""

    STABLE = "stable"
    MOVING = "moving"
    OVERLOAD = "overload"
    UNDERLOAD = "underload"
    BUSY = "busy"
    ERROR = "error"
    GARBLED = "garbled"


@dataclass(frozen=True, slots=True, kw_only=True)
class MassReading:
    """One line of a balance, as it came.

    Attributes:
        t_ns: monotonic time of arrival in ns.
        mass_g: mass in g, None where the state carries no number.
        state: what the balance says of itself.
        line: the bytes that carried it, without their terminator.
    """

    t_ns: int
    mass_g: float | None
    state: MassState
    line: bytes

    @property
    def usable(self) -> bool:
        """Whether it may be taken as a weighing: stable, and a number."""
        return self.state is MassState.STABLE and self.mass_g is not None
