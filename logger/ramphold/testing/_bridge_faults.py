"""The faults between a bridge converter and its reader, and how they must be reported."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

from ramphold.clock import NS_PER_S
from ramphold.core import Quality
from ramphold.testing._bridge_rig import BridgeRig


@dataclass(frozen=True, slots=True)
class BridgeFault:
    """A fault.

    Attributes:
        name: its name for a person.
        inject: causes it, at once or within the next frame.
        quality: the quality that must be reported.
        within: periods of conversion within which it must be reported.
        lasts: whether it stays until it is repaired.
    """

    name: str
    inject: Callable[[BridgeRig], None]
    quality: Quality
    within: float
    lasts: bool = False


def _wire(name: str, state: str) -> Callable[[BridgeRig], None]:
    return lambda rig: setattr(rig.gpio, name, state)


def _at_pulse(pulse: int, action: Callable[[BridgeRig], None]) -> Callable[[BridgeRig], None]:
    """Act while a pulse of the next frame is high."""

    def inject(rig: BridgeRig) -> None:
        def watch(number: int) -> None:
            if number == pulse:
                rig.chip.on_pulse = lambda _: None
                action(rig)

        rig.chip.on_pulse = watch

    return inject


def _away(rig: BridgeRig, seconds: float, *, at: int = 0) -> None:
    """Delay the reader at a moment, counted in halves of GPIO calls from now."""
    halves = itertools.count()
    rig.gpio.held_up = lambda: round(seconds * NS_PER_S) if next(halves) == at else 0


def _code(code: int) -> Callable[[BridgeRig], None]:
    return lambda rig: setattr(rig.chip, "code", lambda _, __: code)


# Halves of calls after a rising edge: the rest of its own, two of the falling edge, two of reading
# the bit, and the first of the next rising edge, which the library counts as part of the pulse.
_HIGH, _LOW, _BEFORE_NEXT = 1, 3, 5

BRIDGE_FAULTS = (
    BridgeFault(
        "data wire pulled off between frames",
        _wire("data_wire", "off"), Quality.NOT_READY, 2.5, lasts=True,
    ),
    BridgeFault(
        "data wire pulled off before the first bit of a frame",
        _at_pulse(1, _wire("data_wire", "off")), Quality.NOT_READY, 3.5, lasts=True,
    ),
    BridgeFault(
        "data wire pulled off in the ninth bit of a frame",
        _at_pulse(9, _wire("data_wire", "off")), Quality.NOT_READY, 3.5, lasts=True,
    ),
    BridgeFault(
        "data shorted to ground between frames",
        _wire("data_wire", "low"), Quality.STUCK_LOW, 1.5, lasts=True,
    ),
    BridgeFault(
        "data shorted to ground in the ninth bit of a frame",
        _at_pulse(9, _wire("data_wire", "low")), Quality.STUCK_LOW, 1.5, lasts=True,
    ),
    BridgeFault(
        "clock wire pulled off",
        _wire("clock_wire", "off"), Quality.STUCK_LOW, 1.5, lasts=True,
    ),
    BridgeFault(
        "clock high for 70 us in the twelfth pulse: the converter sleeps",
        _at_pulse(12, lambda rig: _away(rig, 70e-6, at=_HIGH)), Quality.PULSE_TOO_LONG, 1.5,
    ),
    BridgeFault(
        "held up 70 us before a pulse: it only seems long",
        _at_pulse(12, lambda rig: _away(rig, 70e-6, at=_BEFORE_NEXT)), Quality.PULSE_TOO_LONG, 1.5,
    ),
    BridgeFault(
        "held up over a conversion's end within a frame",
        _at_pulse(12, lambda rig: _away(rig, 1.1 / rig.says, at=_LOW)), Quality.READ_TOO_LATE, 2.5,
    ),
    BridgeFault(
        "held up for five conversions between frames",
        lambda rig: _away(rig, 5.3 / rig.says), Quality.READ_TOO_LATE, 6.5,
    ),
    BridgeFault(
        "supply of the converter interrupted",
        lambda rig: rig.chip.restart(), Quality.NOT_READY, 2.5,
    ),
    BridgeFault(
        "input above the range",
        _code(0x7FFFFF), Quality.SATURATED, 3.0, lasts=True,
    ),
    BridgeFault(
        "input below the range",
        _code(-0x800000), Quality.SATURATED, 2.0, lasts=True,
    ),
)  # fmt: skip
