"""The two wires of a bridge converter, clocked by hx711-multi; the one module that uses it.

Only the library's reading of one frame is used. Its averages give nothing on a moving load, it
drops the codes 0 and -1, and its first frame after a stretched pulse may be false; `_bridge`
handles all that.
"""

import contextlib
import importlib
import logging
import sys
from collections.abc import Callable
from typing import Any, Literal

from msgspec import Struct

from ramphold.core import Quality
from ramphold.errors import ConfigError, PortError

_PINS = range(28)
_RESET_S = 1e-3  # the converter powers down after 60 us of a high clock


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

    Building it takes about half a second, in which the library reads a frame and waits.

    Raises:
        PortError: the libraries are missing, this is no Raspberry Pi, or a pin is not available.
    """

    def __init__(self, pins: BridgePins, sleep: Callable[[float], object]) -> None:
        self._gpio, library = _load(pins)
        self._pins = [pins.data_pin, pins.clock_pin]
        self._data, self._clock = self._pins
        self._sleep = sleep
        self._where = pins.place
        try:
            self._claim(library, pins)
        except Exception as error:  # the GPIO library has exceptions of its own
            self.close()
            raise PortError(
                f"{pins.place} can't be claimed: {error}; add this user to the group gpio, and "
                "stop what else uses these pins, a kernel driver too"
            ) from error
        #: What reading a pin may raise, bugs apart.
        self.errors = (RuntimeError, OSError, getattr(sys.modules.get("lgpio"), "error", OSError))

    def ready(self) -> bool:
        """Whether data is low: a conversion is ready, or something is wrong."""
        return not self._gpio.input(self._data)

    def frame(self) -> int | Quality:
        """Read one frame: its 24 bits, or why it is lost."""
        adc = self._adc
        adc._init_set_of_reads()  # noqa: SLF001  (or the library keeps every code for ever)
        if not self._library._read():  # noqa: SLF001  (its only call for one conversion)
            ready = adc._ready  # noqa: SLF001  (tells why it gave up)
            return Quality.PULSE_TOO_LONG if ready else Quality.NOT_READY
        return int(adc.raw_reads[-1])

    def reset(self) -> None:
        """Power the converter down and up; it forgets a frame in progress, and its gain."""
        self._gpio.output(self._clock, 1)
        self._sleep(_RESET_S)
        self._gpio.output(self._clock, 0)

    def close(self) -> None:
        """Release the pins."""
        with contextlib.suppress(Exception):  # nothing is left to do, whatever it raises
            self._gpio.cleanup(self._pins)

    def _claim(self, library: Any, pins: BridgePins) -> None:  # noqa: ANN401  (it is not typed)
        gpio = self._gpio
        gpio.setmode(gpio.BCM)
        log = logging.getLogger("hx711-multi")
        handlers = list(log.handlers)
        # The library logs by a method that warns that it is deprecated.
        vars(log)["warn"] = log.warning
        self._library = library.HX711(
            pins.data_pin,
            pins.clock_pin,
            channel_A_gain=64 if pins.gain == 64 else 128,  # noqa: PLR2004
            channel_select="B" if pins.gain == 32 else "A",  # noqa: PLR2004
            log_level="CRITICAL",
        )
        log.handlers[:] = handlers
        self._adc = self._library._adcs[0]  # noqa: SLF001  (holds its codes)
        # A loose wire then reads as never ready, rather than as zeros.
        gpio.setup(pins.data_pin, gpio.IN, pull_up_down=gpio.PUD_UP)


def _load(pins: BridgePins) -> tuple[Any, Any]:
    """Import the GPIO module and the library, only where such a converter is configured."""
    try:
        gpio = importlib.import_module("RPi.GPIO")
        return gpio, importlib.import_module("hx711_multi.hx711")
    except ImportError as error:
        reason = f"{error}; install the extra `pi`: pip install 'ramphold[pi]'"
    except RuntimeError as error:
        reason = (
            f"{error}; on other computers use a load of kind indicator or iio. On a Raspberry Pi "
            "install the extra `pi` in place of other GPIO libraries"
        )
    except OSError as error:
        reason = f"{error}; run it in a folder that can be written: the GPIO library needs one"
    raise PortError(f"{pins.place} can't be read: {reason}")
