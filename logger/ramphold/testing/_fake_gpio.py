"""A fake `gpiod` with a bridge converter on two lines of a Raspberry Pi's header."""

import contextlib
import enum
import sys
from collections.abc import Callable, Iterator, Mapping
from types import ModuleType, SimpleNamespace
from typing import Literal, Self, cast

from msgspec import Struct

from ramphold.testing._bridge_chip import BridgeChip
from ramphold.testing._virtual_time import PassingTime, VirtualTime


class Value(enum.Enum):
    """Levels of a line."""

    INACTIVE = 0
    ACTIVE = 1


class Direction(enum.Enum):
    """Directions of a line."""

    INPUT = 1
    OUTPUT = 2


class Bias(enum.Enum):
    """What pulls at a line that nothing drives."""

    AS_IS = 0
    PULL_UP = 1


class _LineSettings(Struct, kw_only=True):
    """What is asked of a line."""

    direction: Direction
    bias: Bias = Bias.AS_IS
    output_value: Value = Value.INACTIVE


class RequestReleasedError(Exception):
    """The lines were given back."""


class FakeGpio:
    """The part of `gpiod` that a converter needs, the wires, and a scheduler that interferes.

    It is the module, the chip and the request for its lines in one.

    Args:
        time: advances with every call.
        chip: the converter.
        data_pin, clock_pin: BCM numbers of its pins.
        call_ns: duration of a call in ns.
        held_up: gives the delay by the scheduler in ns; called before and after the pin is
            accessed.
    """

    line = SimpleNamespace(Value=Value, Direction=Direction, Bias=Bias)
    LineSettings = _LineSettings
    RequestReleasedError = RequestReleasedError

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
        self._lines: dict[int, _LineSettings] = {}
        #: The label of each GPIO chip, by its path.
        self.labels = {"/dev/gpiochip0": "gpio-brcmstb@107d508500", "/dev/gpiochip4": "pinctrl-rp1"}
        #: State of each wire; may be changed at any time.
        self.data_wire: Literal["joined", "off", "low"] = "joined"
        self.clock_wire: Literal["joined", "off"] = "joined"
        #: Twice the number of calls that accessed a pin.
        self.half_calls = 0

    # --- the module ---------------------------------------------------------------------------

    def is_gpiochip_device(self, path: str) -> bool:
        """Whether a GPIO chip is at a path."""
        return path in self.labels

    def Chip(self, path: str) -> Self:  # noqa: N802  (a class of gpiod)
        """Open a chip."""
        self._label = self.labels[path]
        return self

    # --- the chip -----------------------------------------------------------------------------

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        """Close the chip; its claimed lines stay."""

    def get_info(self) -> SimpleNamespace:
        """What the chip is."""
        return SimpleNamespace(label=self._label)

    def request_lines(self, config: Mapping[int, _LineSettings], consumer: str) -> Self:
        """Claim lines."""
        if not consumer:
            raise ValueError("expected a consumer")
        self._lines = dict(config)
        return self

    # --- the claimed lines --------------------------------------------------------------------

    def set_value(self, line: int, value: Value) -> None:
        """Set a line."""
        if self._claimed(line).direction is not Direction.OUTPUT:
            raise PermissionError("the line is no output")
        self._spend()
        if line == self._clock_pin and self.clock_wire == "joined":
            self._chip.clock(high=value is Value.ACTIVE)
        self._spend()

    def get_value(self, line: int) -> Value:
        """The level of a line."""
        settings = self._claimed(line)
        self._spend()
        level = settings.bias is Bias.PULL_UP
        if line == self._data_pin and self.data_wire != "off":
            level = self.data_wire == "joined" and bool(self._chip.data())
        self._spend()
        return Value(int(level))

    def release(self) -> None:
        """Give the lines back."""
        self._lines.clear()

    @property
    def claimed(self) -> set[int]:
        """The lines that are claimed."""
        return set(self._lines)

    def _claimed(self, line: int) -> _LineSettings:
        if not self._lines:
            raise RequestReleasedError("GPIO lines have been released")
        return self._lines[line]

    def _spend(self) -> None:
        self.half_calls += 1
        self._time.spend(self._half_ns + self.held_up())


@contextlib.contextmanager
def gpio_in_place(gpio: object) -> Iterator[None]:
    """Put something in the place of the module `gpiod`."""
    before = sys.modules.get("gpiod")
    sys.modules["gpiod"] = cast("ModuleType", gpio)
    try:
        yield
    finally:
        del sys.modules["gpiod"]
        if before is not None:
            sys.modules["gpiod"] = before
