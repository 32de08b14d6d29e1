"""A fake `RPi.GPIO` with a bridge converter on two pins, under hx711-multi."""

import contextlib
import importlib
import sys
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Literal, cast

from ramphold.testing._bridge_chip import BridgeChip
from ramphold.testing._virtual_time import PassingTime, VirtualTime

_LIBRARY = ("hx711_multi", "hx711_multi.hx711", "hx711_multi.utils")


class FakeGpio:
    """The part of `RPi.GPIO` that a converter needs, the wires, and a scheduler that interferes.

    Args:
        time: advances with every call.
        chip: the converter.
        data_pin, clock_pin: BCM numbers of its pins.
        call_ns: duration of a call in ns.
        held_up: gives the delay by the scheduler in ns; called before and after the pin is
            accessed.
    """

    BOARD, BCM = 10, 11
    OUT, IN = 0, 1
    LOW, HIGH = 0, 1
    PUD_OFF, PUD_DOWN, PUD_UP = 20, 21, 22

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        time: VirtualTime | PassingTime,
        chip: BridgeChip,
        *,
        data_pin: int = 5,
        clock_pin: int = 13,
        call_ns: int = 1500,
        held_up: Callable[[], int] = lambda: 0,
    ) -> None:
        self._time = time
        self._chip = chip
        self._data_pin = data_pin
        self._clock_pin = clock_pin
        self._half_ns = call_ns // 2
        self.held_up = held_up
        self._mode: int | None = None
        self._directions: dict[int, int] = {}
        self._pulls: dict[int, int] = {}
        #: State of each wire; may be changed at any time.
        self.data_wire: Literal["joined", "off", "low"] = "joined"
        self.clock_wire: Literal["joined", "off"] = "joined"
        #: Twice the number of calls that accessed a pin.
        self.half_calls = 0

    def setmode(self, mode: int) -> None:
        """Set the numbering of pins."""
        if self._mode not in (None, mode):
            raise ValueError("A different mode has already been set!")
        self._mode = mode

    def setup(self, pin: int, direction: int, pull_up_down: int = PUD_OFF) -> None:
        """Make a pin an input or an output."""
        if self._mode is None:
            raise RuntimeError("Please set pin numbering mode")
        self._directions[pin] = direction
        self._pulls[pin] = pull_up_down

    def output(self, pin: int, value: int) -> None:
        """Set a pin."""
        if self._directions.get(pin) != self.OUT:
            raise RuntimeError("The GPIO channel has not been set up as an OUTPUT")
        self._spend()
        if pin == self._clock_pin and self.clock_wire == "joined":
            self._chip.clock(high=bool(value))
        self._spend()

    def input(self, pin: int) -> int:
        """The level of a pin."""
        if pin not in self._directions:
            raise RuntimeError("You must setup() the GPIO channel first")
        self._spend()
        level = 1 if self._pulls[pin] == self.PUD_UP else 0
        if pin == self._data_pin and self.data_wire != "off":
            level = self._chip.data() if self.data_wire == "joined" else 0
        self._spend()
        return level

    def cleanup(self, pins: list[int]) -> None:
        """Release pins."""
        for pin in pins:
            self._directions.pop(pin, None)

    @property
    def claimed(self) -> set[int]:
        """The pins that are set up."""
        return set(self._directions)

    def _spend(self) -> None:
        self.half_calls += 1
        self._time.spend(self._half_ns + self.held_up())


@contextlib.contextmanager
def gpio_in_place(gpio: object, time: VirtualTime | PassingTime) -> Iterator[ModuleType]:
    """Load hx711-multi afresh on a GPIO module, and let its sleeps pass virtual time."""
    package = ModuleType("RPi")
    vars(package).update(__path__=[], GPIO=gpio)
    names = ("RPi", "RPi.GPIO", *_LIBRARY)
    before = {name: sys.modules.pop(name, None) for name in names}
    sys.modules["RPi"] = package
    sys.modules["RPi.GPIO"] = cast("ModuleType", gpio)
    try:
        library = importlib.import_module("hx711_multi.hx711")
        vars(library).update(sleep=time.sleep, perf_counter=time.perf_counter)
        yield library
    finally:
        for name, module in before.items():
            sys.modules.pop(name, None)
            if module is not None:
                sys.modules[name] = module
