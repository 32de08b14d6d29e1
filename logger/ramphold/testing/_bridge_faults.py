"""What can go wrong between a bridge converter and its reader, and what must be said of it."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

from ramphold.clock import NS_PER_S
from ramphold.core import Quality
from ramphold.testing._bridge_rig import BridgeRig

__all__ = ["BRIDGE_FAULTS", "BridgeFault"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeFault:
    """A fault.

    Attributes:
        name: for a person.
        inject: brings it about at once, or within the next frame.
        quality: what must be reported.
        within: and how soon, in periods of conversion.
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
    """Something that happens while a pulse of the next frame is high."""

    def inject(rig: BridgeRig) -> None:
        def watch(number: int) -> None:
            if number == pulse:
                rig.chip.on_pulse = lambda _: None
                action(rig)

        rig.chip.on_pulse = watch

    return inject


def _away(rig: BridgeRig, seconds: float, *, at: int = 0) -> None:
    """Hold the reader up at a moment, counted in halves of GPIO calls from now."""
    halves = itertools.count()
    rig.gpio.held_up = lambda: round(seconds * NS_PER_S) if next(halves) == at else 0


def _code(code: int) -> Callable[[BridgeRig], None]:
    return lambda rig: setattr(rig.chip, "code", lambda _, __: code)


# Halves of calls after a rising edge: its own rest, two of the falling edge, two of reading the
# bit, and the first of the next rising edge, which lies within what the library takes for a pulse.
_HIGH, _LOW, _BEFORE_NEXT = 1, 3, 5

BRIDGE_FAULTS = (
    BridgeFault(
        name="data wire pulled off between frames",
        inject=_wire("data_wire", "off"),
        quality=Quality.NOT_READY,
        within=2.5,
        lasts=True,
    ),
    BridgeFault(
        name="data wire pulled off before the first bit of a frame",
        inject=_at_pulse(1, _wire("data_wire", "off")),
        quality=Quality.NOT_READY,
        within=3.5,
        lasts=True,
    ),
    BridgeFault(
        name="data wire pulled off in the ninth bit of a frame",
        inject=_at_pulse(9, _wire("data_wire", "off")),
        quality=Quality.NOT_READY,
        within=3.5,
        lasts=True,
    ),
    BridgeFault(
        name="data shorted to ground between frames",
        inject=_wire("data_wire", "low"),
        quality=Quality.STUCK_LOW,
        within=1.5,
        lasts=True,
    ),
    BridgeFault(
        name="data shorted to ground in the ninth bit of a frame",
        inject=_at_pulse(9, _wire("data_wire", "low")),
        quality=Quality.STUCK_LOW,
        within=1.5,
        lasts=True,
    ),
    BridgeFault(
        name="clock wire pulled off",
        inject=_wire("clock_wire", "off"),
        quality=Quality.STUCK_LOW,
        within=1.5,
        lasts=True,
    ),
    BridgeFault(
        name="clock high for 70 us in the twelfth pulse: the converter sleeps",
        inject=_at_pulse(12, lambda rig: _away(rig, 70e-6, at=_HIGH)),
        quality=Quality.PULSE_TOO_LONG,
        within=1.5,
    ),
    BridgeFault(
        name="held up 70 us before a pulse: it only seems long",
        inject=_at_pulse(12, lambda rig: _away(rig, 70e-6, at=_BEFORE_NEXT)),
        quality=Quality.PULSE_TOO_LONG,
        within=1.5,
    ),
    BridgeFault(
        name="held up over a conversion's end within a frame",
        inject=_at_pulse(12, lambda rig: _away(rig, 1.1 / rig.says, at=_LOW)),
        quality=Quality.READ_TOO_LATE,
        within=2.5,
    ),
    BridgeFault(
        name="held up for five conversions between frames",
        inject=lambda rig: _away(rig, 5.3 / rig.says),
        quality=Quality.READ_TOO_LATE,
        within=6.5,
    ),
    BridgeFault(
        name="supply of the converter interrupted",
        inject=lambda rig: rig.chip.restart(),
        quality=Quality.NOT_READY,
        within=2.5,
    ),
    BridgeFault(
        name="input above the range",
        inject=_code(0x7FFFFF),
        quality=Quality.SATURATED,
        within=3.0,
        lasts=True,
    ),
    BridgeFault(
        name="input below the range",
        inject=_code(-0x800000),
        quality=Quality.SATURATED,
        within=2.0,
        lasts=True,
    ),
)
