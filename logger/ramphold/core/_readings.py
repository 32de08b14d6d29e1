"""One reading of an instrument: a force or a mass, or why there is none."""

from enum import StrEnum

from msgspec import Struct


class Quality(StrEnum):
    """How far a reading can be trusted; only the first two have a value."""

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


_VALUED = Quality.GOOD, Quality.UNSTEADY
#: No hand-pumped press comes near this force; a larger number is garbage, however well it decodes.
IMPLAUSIBLE_LBF = 1e7


class Reading(Struct, frozen=True, kw_only=True, gc=False):
    """One reading of the load, as received.

    Attributes:
        t_ns: monotonic time of arrival in ns.
        force_lbf: force on the specimen in lbf; NaN if the quality has no value.
        quality: how far it can be trusted.
        raw: the digits of a text indicator as an integer, or the count of a converter.
        exponent: power of ten of `raw`: the printed value is raw x 10**exponent.
        unit: unit of the printed value, or `count`.
        line: the bytes themselves, only if they could not be decoded.
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
        """Whether it has a force that can be judged."""
        # NaN is no smaller than anything.
        return self.quality in _VALUED and abs(self.force_lbf) <= IMPLAUSIBLE_LBF


class MassState(StrEnum):
    """The state a balance reports; only the first two have a value."""

    STABLE = "stable"
    MOVING = "moving"
    OVERLOAD = "overload"
    UNDERLOAD = "underload"
    BUSY = "busy"
    ERROR = "error"
    GARBLED = "garbled"


class MassReading(Struct, frozen=True, kw_only=True):
    """One line of a balance, as received.

    Attributes:
        t_ns: monotonic time of arrival in ns.
        mass_g: mass in g; None if the state has no value.
        state: the state that the balance reports.
        line: the bytes of the line without terminator.
    """

    t_ns: int
    mass_g: float | None
    state: MassState
    line: bytes

    @property
    def usable(self) -> bool:
        """Whether it can be used as a weighing: stable, with a value."""
        return self.state is MassState.STABLE and self.mass_g is not None
