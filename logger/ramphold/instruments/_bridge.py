"""A 24-bit bridge converter read from user space: a count per conversion, or why there is none.

The scheduler may delay the reader at any moment. A clock pulse over 60 us puts the converter to
sleep, and a frame that spans the end of a conversion may mix two. Whatever is not certainly one
whole conversion is reported by its quality, and the converter is restarted.
"""

import time
from collections.abc import Callable

from ramphold.clock import NS_PER_S, Clock
from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.instruments._converter import Conversion
from ramphold.instruments._phase import Phase
from ramphold.instruments._port import READ_WAIT_S
from ramphold.instruments._two_wire import BridgePins, TwoWire

_HIGHEST, _LOWEST = 0x7FFFFF, -0x800000
_BITS = 24
_GAIN_AFTER_RESET = 128
# Four conversions by the data sheet (from memory), 100 ms by the guide of a board (published).
_SETTLED_PERIODS, _SETTLED_LEAST_NS = 4.5, NS_PER_S // 10
_STUCK_PERIODS = 3.5
_OVERDUE_PERIODS, _OVERDUE_LEAST_NS = 6.5, NS_PER_S // 4
# Before its rate is known: a bit over four conversions at 10/s.
_OVERDUE_UNKNOWN_NS = 7 * NS_PER_S // 10
_POLLS_PER_PERIOD = 25
# A wire pulled off, or a converter that falls asleep, in mid-frame leaves only ones. Up to five are
# below the converter's noise; with more, the count waits until the next conversion succeeds.
_SUSPECT = 0b11_1111
_RATE_FACTOR = 1.6


class BridgeConverter:
    """The converter as a `Converter`.

    Args:
        pins: its pins.
        per_s: conversions a second by its rate pin; it may be off by half.
        clock: stamps the conversions; `sleep` sleeps in its time.
        sleep: waits for a time in s.

    Raises:
        PortError: it can't be opened.
    """

    def __init__(
        self,
        pins: BridgePins,
        *,
        per_s: float,
        clock: Clock,
        sleep: Callable[[float], object] = time.sleep,
    ) -> None:
        self._pins = pins
        self._per_s = per_s
        self._clock = clock
        self._sleep = sleep
        self._phase = Phase(round(NS_PER_S / per_s))
        self._given_ns: int | None = None
        self._held: list[tuple[int, int]] = []
        self._busy_ns: int | None = None  # last time it was busy since the last frame
        self._look_ns = self._overdue_ns = self._settled_ns = 0
        self._gain_due = False
        self._wires = TwoWire(pins, clock, sleep)
        self._start()

    def read(self) -> list[Conversion]:
        """As `Converter.read`."""
        try:
            return self._next()
        except PortError:
            raise
        except self._wires.errors as error:
            raise PortError(f"{self._pins.place} can't be read any more: {error}") from error

    def close(self) -> None:
        """As `Converter.close`."""
        self._wires.close()

    # --- one conversion ----------------------------------------------------------------------

    def _next(self) -> list[Conversion]:
        now_ns = self._clock.now_ns
        seen_ns = self._await(now_ns() + round(READ_WAIT_S * NS_PER_S))
        if seen_ns is None:
            overdue = self._busy_ns is not None and self._busy_ns >= self._overdue_ns
            return self._fault(Quality.NOT_READY) if overdue else []
        placed = self._phase.place(self._busy_ns, seen_ns)
        code = self._wires.frame()
        # After a whole frame, data is high until the next conversion ends.
        stays_low = self._wires.ready()
        if isinstance(code, Quality):
            return self._fault(code)
        whole = placed and self._phase.fits(now_ns())
        if stays_low and (whole or not code):
            return self._fault(Quality.STUCK_LOW)
        if not whole:
            return self._fault(Quality.READ_TOO_LATE)
        return self._take(code)

    def _await(self, until_ns: int) -> int | None:
        """Wait for ready until a time in ns; returns the time it was seen, or None."""
        wait_ns = min(self._look_ns, until_ns) - self._clock.now_ns()
        if wait_ns > 0:
            self._sleep(wait_ns / NS_PER_S)
            if self._look_ns > until_ns:
                return None
        while True:
            before_ns = self._clock.now_ns()
            if self._wires.ready():
                return self._clock.now_ns()
            self._busy_ns = before_ns
            if before_ns >= min(until_ns, self._overdue_ns):
                return None
            self._sleep(self._phase.period_ns / _POLLS_PER_PERIOD / NS_PER_S)

    def _take(self, code: int) -> list[Conversion]:
        """Accept a whole frame; the conversions that can be returned now."""
        if self._gain_due:  # the pulses of this frame have set it
            self._gain_due = False
            self._begin()
            return []
        if not self._phase.found:
            self._expect()
            return []
        self._check_rate()
        given, self._held = self._held, []
        ended_ns = self._phase.ended_ns
        if self._phase.due and ended_ns >= self._settled_ns:
            (self._held if _ends_in_ones(code) else given).append((ended_ns, code))
        self._expect()
        return [self._conversion(*one) for one in given]

    def _conversion(self, ended_ns: int, code: int) -> Conversion:
        count = code - (1 << _BITS) if code > _HIGHEST else code
        before_ns, self._given_ns = self._given_ns, ended_ns
        periods = 1 if before_ns is None else round((ended_ns - before_ns) / self._phase.period_ns)
        return Conversion(
            t_ns=ended_ns,
            quality=Quality.SATURATED if count in (_HIGHEST, _LOWEST) else Quality.GOOD,
            count=count,
            skipped=max(0, periods - 1),
        )

    # --- what is expected next ---------------------------------------------------------------

    def _fault(self, quality: Quality) -> list[Conversion]:
        t_ns = self._clock.now_ns()
        self._start()
        if quality is Quality.STUCK_LOW:  # it would be found again at once
            self._look_ns += round(_STUCK_PERIODS * self._phase.period_ns)
        return [Conversion(t_ns=t_ns, quality=quality)]

    def _start(self) -> None:
        """Restart the converter."""
        self._wires.reset()
        self._gain_due = self._pins.gain != _GAIN_AFTER_RESET
        self._begin()

    def _begin(self) -> None:
        """Expect the filter to settle, as after a reset or a change of gain."""
        now_ns, period_ns = self._clock.now_ns(), self._phase.period_ns
        self._phase.lose()
        self._held, self._busy_ns = [], None
        self._settled_ns = now_ns + max(round(_SETTLED_PERIODS * period_ns), _SETTLED_LEAST_NS)
        late_ns = max(round(_OVERDUE_PERIODS * period_ns), _OVERDUE_LEAST_NS)
        self._look_ns = now_ns
        self._overdue_ns = now_ns + (late_ns if self._phase.found else _OVERDUE_UNKNOWN_NS)

    def _expect(self) -> None:
        """Expect the conversion after the one just read."""
        now_ns = self._clock.now_ns()
        self._busy_ns = None
        if self._phase.found:
            self._look_ns, self._overdue_ns = self._phase.look_ns, self._phase.overdue_ns
        else:
            self._look_ns, self._overdue_ns = now_ns, now_ns + _OVERDUE_UNKNOWN_NS

    def _check_rate(self) -> None:
        factor = NS_PER_S / self._phase.period_ns / self._per_s
        if not 1 / _RATE_FACTOR < factor < _RATE_FACTOR:
            raise PortError(
                f"{self._pins.place} converts {factor * self._per_s:.0f} times a second, but "
                f"readings_per_s says {self._per_s:g}: set its rate pin, or correct the key"
            )


def _ends_in_ones(code: int) -> bool:
    return code & _SUSPECT == _SUSPECT
