"""A converter as an instrument: opens it, reads it, and opens it again."""

import logging
from collections import Counter
from collections.abc import Callable

from ramphold.clock import NS_PER_S
from ramphold.core import Quality, Reading
from ramphold.instruments._converter import Conversion, Converter
from ramphold.instruments._instrument import HealthState, Instrument, InstrumentSetup

_log = logging.getLogger(__name__)

_HELD_UP = "every reading is held up: this computer is too busy, free it of other work"
_NOTHING = "gives no conversion: check its supply, the data wire and the clock wire"
#: What is wrong if only readings of such a quality come.
_TROUBLES = {
    Quality.NOT_READY: _NOTHING,
    Quality.STUCK_LOW: "its data stays low: check for a short to ground, and the clock wire",
    Quality.PULSE_TOO_LONG: _HELD_UP,
    Quality.READ_TOO_LATE: _HELD_UP,
    Quality.GARBLED: "its file holds no number: check its driver",
    Quality.FAULT: "its gain is lost again and again: check its supply",
    Quality.UNDER_RANGE: "the sensor sends too little: check its wires and its supply",
    Quality.OVER_RANGE: "the sensor sends too much: check its wires for a short",
}


class Sampler(Instrument[Reading]):
    """A converter as an instrument.

    Args:
        setup: its name, clock and callbacks; the clock is the converter's.
        open_converter: opens it; raises PortError.
        to_reading: makes a reading of force of a conversion.
        silent_s: time in s without a measurement after which it counts as silent.
    """

    def __init__(
        self,
        setup: InstrumentSetup[Reading],
        open_converter: Callable[[], Converter],
        to_reading: Callable[[Conversion], Reading],
        *,
        silent_s: float,
    ) -> None:
        super().__init__(setup)
        self._open_converter = open_converter
        self._to_reading = to_reading
        self._silent_ns = round(silent_s * NS_PER_S)
        self._readings: Counter[Quality] = Counter()
        self._skipped = 0

    def _session(self) -> None:
        converter = self._open_converter()
        try:
            self._report(HealthState.OPEN, "ok")
            self._listen(converter)
        finally:
            converter.close()
            came = ", ".join(f"{count} {quality}" for quality, count in self._readings.items())
            _log.info("%s: %s, %d skipped", self.name, came or "no reading", self._skipped)

    def _listen(self, converter: Converter) -> None:
        heard_ns, trouble, before = self._clock.now_ns(), _NOTHING, None
        while self._goes_on():
            conversions = converter.read()
            if self._stop.is_set():  # the read may have taken longer than `stop` waits
                return
            for conversion in conversions:
                reading = self._to_reading(conversion)
                self._readings[reading.quality] += 1
                self._skipped += conversion.skipped
                if reading.quality not in _TROUBLES:
                    heard_ns = reading.t_ns
                    self._heard()
                elif reading.quality is before:  # a single one may only be the result of another
                    trouble = _TROUBLES[reading.quality]
                before = reading.quality
                self._on_reading(reading)
            if self._clock.now_ns() - heard_ns >= self._silent_ns:
                self._report(HealthState.SILENT, trouble)
