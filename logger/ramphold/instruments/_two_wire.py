"""The two wires of a bridge converter, clocked by hx711-multi; the one module that uses it.

Of the library only the reading of one frame is used. Its own averages give nothing on a moving
load, its codes 0 and -1 are lost, and its first frame after a stretched pulse may be a false one;
`_bridge` stands in front of all that.
"""

import contextlib
import importlib
import logging
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from ramphold.core import Quality
from ramphold.errors import PortError

__all__ = ["BridgePins", "TwoWire"]

_RESET_S = 1e-3  # the converter powers down after 60 us of a high clock


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgePins:
    """Where a bridge converter is wired, by the GPIO's own (BCM) numbers, and how it is set.

    Attributes:
        data_pin, clock_pin: the two GPIOs.
        gain: 128 or 64 of its first input, 32 of its second.
    """

    data_pin: int = 5
    clock_pin: int = 13
    gain: Literal[128, 64, 32] = 128

    @property
    def place(self) -> str:
        """Where it is, for a person."""
        return f"bridge on GPIO {self.data_pin} and {self.clock_pin}"


class TwoWire:
    """A converter's data and clock, claimed.

    Takes about half a second, in which the library reads a frame and waits.

    Raises:
        PortError: the libraries are missing, this is no Raspberry Pi, or a pin can't be had.
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
        #: What reading a pin may raise, apart from bugs.
        self.errors = (RuntimeError, OSError, getattr(sys.modules.get("lgpio"), "error", OSError))

    def ready(self) -> bool:
        """Whether data is low: a conversion is ready, or something is wrong."""
        return not self._gpio.input(self._data)

    def frame(self) -> int | Quality:
        """Clock one frame: its 24 bits, or why it is lost."""
        adc = self._adc
        adc._init_set_of_reads()  # noqa: SLF001  (else the library keeps every code for ever)
        if not self._library._read():  # noqa: SLF001  (its one call that gives one conversion)
            ready = adc._ready  # noqa: SLF001  (tells why it gave up)
            return Quality.PULSE_TOO_LONG if ready else Quality.NOT_READY
        return int(adc.raw_reads[-1])

    def reset(self) -> None:
        """Power the converter down and up: it forgets a frame that was begun, and its gain."""
        self._gpio.output(self._clock, 1)
        self._sleep(_RESET_S)
        self._gpio.output(self._clock, 0)

    def close(self) -> None:
        """Give the pins back."""
        with contextlib.suppress(Exception):  # whatever it says, there is nothing left to do
            self._gpio.cleanup(self._pins)

    def _claim(self, library: Any, pins: BridgePins) -> None:  # noqa: ANN401  (it is not typed)
        gpio = self._gpio
        gpio.setmode(gpio.BCM)
        log = logging.getLogger("hx711-multi")
        handlers = list(log.handlers)
        # It says all by a method that warns of its own age.
        vars(log)["warn"] = log.warning
        self._library = library.HX711(
            pins.data_pin,
            pins.clock_pin,
            channel_A_gain=64 if pins.gain == 64 else 128,  # noqa: PLR2004
            channel_select="B" if pins.gain == 32 else "A",  # noqa: PLR2004
            log_level="CRITICAL",
        )
        log.handlers[:] = handlers
        self._adc = self._library._adcs[0]  # noqa: SLF001  (where it keeps its codes)
        # A wire that is off then reads as never ready, rather than as zeros.
        gpio.setup(pins.data_pin, gpio.IN, pull_up_down=gpio.PUD_UP)


def _load(pins: BridgePins) -> tuple[Any, Any]:
    """The GPIO module and the library, imported only where such a converter is configured."""
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
