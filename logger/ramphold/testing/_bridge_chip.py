"""The 24-bit bridge converter, pin by pin and bit by bit, by its data sheet.

What the data sheet does not say is an option: what happens to a frame that is still being read when
the next conversion ends, and whether the data line stays high while the filter settles.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from ramphold.clock import NS_PER_S, Clock

_BITS = 24
_SETTLING = 4  # conversions, after power-up, reset and a change of input or gain (from memory)
#: Number of pulses of a frame, and the input and gain that it sets for the next conversions.
_CHOSEN = {25: "A128", 26: "B32", 27: "A64"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A frame whose reading has begun.

    Attributes:
        ready_ns: end of its conversion.
        input: the converted input and its gain.
        code: the signed code.
        settled: whether the filter had settled.
    """

    ready_ns: int
    input: str
    code: int
    settled: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Series:
    began_ns: int
    input: str


def scattered(ready_ns: int, chosen: str) -> int:
    """A code that differs for each conversion and input, so that none can pass for another."""
    mixed = hashlib.blake2b(f"{ready_ns} {chosen}".encode(), digest_size=3).digest()
    return int.from_bytes(mixed, signed=True)


class BridgeChip:
    """One converter.

    Args:
        time: its clock.
        per_s: conversions a second.
        code: gives the signed code of a conversion by its end in ns and its input.
        abandoned: what happens to a frame when the next conversion ends within it: its bits are
            kept until it is complete, or replaced by the new conversion.
        sleeps_after_s: time with a high clock after which it powers down.
        settles_in_silence: whether data is high while the filter settles; else it shows
            conversions that are not settled.
    """

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        time: Clock,
        *,
        per_s: float = 80.0,
        code: Callable[[int, str], int] = scattered,
        abandoned: Literal["kept", "replaced"] = "kept",
        sleeps_after_s: float = 60e-6,
        settles_in_silence: bool = True,
    ) -> None:
        self._time = time
        #: Period of its conversions in ns; may be changed, as by its rate pin.
        self.period_ns = round(NS_PER_S / per_s)
        self.code = code
        self._replaces = abandoned == "replaced"
        self._sleeps_after_ns = round(sleeps_after_s * NS_PER_S)
        self._silent = settles_in_silence
        self._series = self._before = _Series(began_ns=time.now_ns(), input="A128")
        self._clock_high = self._asleep = False
        self._rose_ns = 0
        self._pulses = 0
        self._shifting: Frame | None = None
        self._read_ns = -1
        #: Every frame whose reading began with a conversion ready.
        self.frames: list[Frame] = []
        #: Number of times it powered down.
        self.naps = 0
        #: Called with the number of each clock pulse of a frame, while the clock is high.
        self.on_pulse: Callable[[int], None] = lambda _: None

    def clock(self, *, high: bool) -> None:
        """Set its clock pin."""
        self._catch_up()
        if high == self._clock_high:
            return
        self._clock_high = high
        if high:
            self._rose_ns = self._time.now_ns()
            self._pulse()
            self.on_pulse(self._pulses)
        elif self._asleep:
            self.restart()

    def restart(self) -> None:
        """Start as after power-up."""
        self._asleep = False
        self._pulses = 0
        self._series = _Series(began_ns=self._time.now_ns(), input="A128")

    def data(self) -> int:
        """The level of its data pin."""
        self._catch_up()
        if self._asleep:
            return 1
        if not self._pulses:
            return 0 if self._unread_ns() else 1
        if self._pulses <= _BITS and self._shifting:
            return self._shifting.code >> (_BITS - self._pulses) & 1
        return 1

    # --- inside ------------------------------------------------------------------------------

    def _pulse(self) -> None:
        self._pulses += 1
        if self._pulses == 1:
            self._shifting = None
            if ready_ns := self._unread_ns():
                self._shifting, self._read_ns = self._frame(ready_ns), ready_ns
                self.frames.append(self._shifting)
        elif self._pulses in _CHOSEN:
            self._choose(_CHOSEN[self._pulses])

    def _choose(self, chosen: str) -> None:
        if self._pulses == min(_CHOSEN):
            self._before = self._series
        same = chosen == self._before.input
        began_ns = self._before.began_ns if same else self._time.now_ns()
        self._series = _Series(began_ns=began_ns, input=chosen)

    def _catch_up(self) -> None:
        """Account for the time since the last call."""
        if self._clock_high and self._time.now_ns() - self._rose_ns > self._sleeps_after_ns:
            self.naps += not self._asleep
            self._asleep = True
        if self._asleep or not self._pulses:
            return
        over = self._pulses > _BITS or self._replaces
        if over and self._unread_ns():
            self._pulses = 0

    def _unread_ns(self) -> int:
        """End of the newest unread conversion in ns; 0 if there is none."""
        began_ns, period_ns = self._series.began_ns, self.period_ns
        done = (self._time.now_ns() - began_ns) // period_ns
        if done < (_SETTLING if self._silent else 1):
            return 0
        ready_ns = began_ns + done * period_ns
        return ready_ns if ready_ns > self._read_ns else 0

    def _frame(self, ready_ns: int) -> Frame:
        series = self._series
        done = (ready_ns - series.began_ns) // self.period_ns
        code = self.code(ready_ns, series.input)
        if done < _SETTLING:
            code = code * done // _SETTLING  # the filter still contains earlier values
        return Frame(ready_ns=ready_ns, input=series.input, code=code, settled=done >= _SETTLING)
