"""The two wires of a bridge converter, clocked over the kernel's GPIO device; uses gpiod alone."""

import contextlib
import importlib
from collections.abc import Callable
from typing import Any, Literal

from msgspec import Struct

from ramphold.clock import Clock
from ramphold.core import Quality
from ramphold.errors import ConfigError, PortError

_PINS = range(28)
_RESET_S = 1e-3  # the converter powers down after 60 us of a high clock
_LONGEST_PULSE_NS = 60_000
_BITS = 24
# Pulses after the bits choose input and gain of the next conversion (data sheet, table 3).
_PULSES_AFTER = {128: 1, 32: 2, 64: 3}
# The chip behind the 40-pin header, as the kernel labels it: up to the Pi 3, the 4, the 5.
_HEADERS = frozenset({"pinctrl-bcm2835", "pinctrl-bcm2711", "pinctrl-rp1"})
_MOST_CHIPS = 32


class BridgePins(Struct, frozen=True, kw_only=True):
    """How a bridge converter is wired and set; pins by the GPIO's own (BCM) numbers.

    Attributes:
        data_pin, clock_pin: the two GPIOs.
        gain: 128 or 64 of its first input, 32 of its second.

    Raises:
        ConfigError: there is no such pin, or both are the same.
    """

    data_pin: int = 5
    clock_pin: int = 13
    gain: Literal[128, 64, 32] = 128

    def __post_init__(self) -> None:
        for name, pin in (("data_pin", self.data_pin), ("clock_pin", self.clock_pin)):
            if pin not in _PINS:
                raise ConfigError(f"{name} is {pin}: expected a GPIO from 0 to {_PINS[-1]}")
        if self.data_pin == self.clock_pin:
            raise ConfigError(f"data_pin and clock_pin are both {self.data_pin}: expected two")

    @property
    def place(self) -> str:
        """Where it is, for a person."""
        return f"bridge on GPIO {self.data_pin} and {self.clock_pin}"


class TwoWire:
    """The data and clock pins of a converter, claimed.

    Args:
        pins: which they are, and the gain that each frame asks for.
        clock: times the pulses.
        sleep: waits for a time in s.

    Raises:
        PortError: the library is missing, this is no Raspberry Pi, or a pin is not available.
    """

    def __init__(self, pins: BridgePins, clock: Clock, sleep: Callable[[float], object]) -> None:
        self._data, self._clock_pin = pins.data_pin, pins.clock_pin
        self._pulses_after = _PULSES_AFTER[pins.gain]
        self._now_ns = clock.now_ns
        self._sleep = sleep
        try:
            gpiod: Any = importlib.import_module("gpiod")
        except ImportError as error:
            raise PortError(
                f"{pins.place} can't be read: {error}; install the GPIO library with the program "
                "(sudo sh systemd/install.sh), or use a load of kind indicator or iio"
            ) from error
        #: What reading a pin may raise, bugs apart.
        self.errors = (OSError, ValueError, gpiod.RequestReleasedError)
        self._low, self._high = gpiod.line.Value.INACTIVE, gpiod.line.Value.ACTIVE
        try:
            self._lines = self._claim(gpiod, pins)
        except self.errors as error:
            raise PortError(
                f"{pins.place} can't be claimed: {error}; add this user to the group gpio, and "
                "stop what else uses these pins, a kernel driver too"
            ) from error

    def ready(self) -> bool:
        """Whether data is low: a conversion is ready, or something is wrong."""
        return self._lines.get_value(self._data) is self._low

    def frame(self) -> int | Quality:
        """Read one frame: its 24 bits, or why it is lost."""
        if not self.ready():
            return Quality.NOT_READY
        code = 0
        for number in range(_BITS + self._pulses_after):
            if not self._pulse():
                return Quality.PULSE_TOO_LONG
            if number < _BITS:
                code = code << 1 | (not self.ready())
        return code

    def reset(self) -> None:
        """Power the converter down and up; it forgets a frame in progress, and its gain."""
        self._lines.set_value(self._clock_pin, self._high)
        self._sleep(_RESET_S)
        self._lines.set_value(self._clock_pin, self._low)

    def close(self) -> None:
        """Release the pins."""
        with contextlib.suppress(*self.errors):
            self._lines.release()

    def _pulse(self) -> bool:
        """Clock once; whether the converter has certainly stayed awake."""
        began_ns = self._now_ns()
        self._lines.set_value(self._clock_pin, self._high)
        self._lines.set_value(self._clock_pin, self._low)
        return self._now_ns() - began_ns < _LONGEST_PULSE_NS

    def _claim(self, gpiod: Any, pins: BridgePins) -> Any:  # noqa: ANN401  (loaded by name)
        line, settings = gpiod.line, gpiod.LineSettings
        config = {
            # Pulled up, a loose wire reads as never ready rather than as zeros.
            pins.data_pin: settings(direction=line.Direction.INPUT, bias=line.Bias.PULL_UP),
            pins.clock_pin: settings(direction=line.Direction.OUTPUT, output_value=self._low),
        }
        for number in range(_MOST_CHIPS):
            path = f"/dev/gpiochip{number}"
            if gpiod.is_gpiochip_device(path):
                with gpiod.Chip(path) as chip:
                    if chip.get_info().label in _HEADERS:
                        return chip.request_lines(consumer="ramphold", config=config)
        raise PortError(
            f"{pins.place} can't be read: this computer has no Raspberry Pi header; use a load of "
            "kind indicator or iio"
        )
