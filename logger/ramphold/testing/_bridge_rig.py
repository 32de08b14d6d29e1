"""The whole chain of a bridge converter: the chip in bits, the GPIO library, and our reader."""

import bisect
import math
import random
from collections.abc import Callable
from typing import Literal

from ramphold.clock import NS_PER_S
from ramphold.core import Quality
from ramphold.instruments import BridgeConverter, BridgePins, Conversion
from ramphold.testing._bridge_chip import BridgeChip, Frame
from ramphold.testing._fake_gpio import FakeGpio, gpio_in_place
from ramphold.testing._virtual_time import PassingTime, VirtualTime

_INPUTS = {128: "A128", 64: "A64", 32: "B32"}
_SHORTEST_S = 40e-6


class BridgeRig:
    """A converter, its wires, and its conversions, in virtual time.

    Args:
        time: the chip's clock.
        chip: the converter.
        says: conversions a second in the reader's configuration.
        gain: gain in the reader's configuration.
        call_ns: duration of a GPIO call in ns.
        held_up: gives the delay of a call by the scheduler in ns.
    """

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        time: VirtualTime | PassingTime,
        chip: BridgeChip,
        *,
        says: float = 80.0,
        gain: Literal[128, 64, 32] = 128,
        call_ns: int = 1500,
        held_up: Callable[[], int] = lambda: 0,
    ) -> None:
        self.time = time
        self.chip = chip
        self.says = says
        self.gpio = FakeGpio(time, chip, call_ns=call_ns, held_up=held_up)
        self._input = _INPUTS[gain]
        self.read: list[Conversion] = []
        with gpio_in_place(self.gpio):
            self.converter = BridgeConverter(
                BridgePins(gain=gain), per_s=says, clock=time, sleep=time.sleep
            )

    def run(self, seconds: float) -> list[Conversion]:
        """Read for a time in s; returns the conversions."""
        first, end_ns = len(self.read), self.time.now_ns() + seconds * NS_PER_S
        while self.time.now_ns() < end_ns:
            self.read += self.converter.read()
        return self.read[first:]

    def good(self) -> list[Conversion]:
        """The conversions reported as good."""
        return [one for one in self.read if one.quality is Quality.GOOD]

    def errors(self) -> list[float]:
        """Error of each count against the code of the conversion at its time.

        Infinite if that conversion is of another input, or not settled.
        """
        pairs = self._pairs()
        return [
            abs(one.count - frame.code)
            if frame.settled and frame.input == self._input
            else math.inf
            for one, frame in pairs
        ]

    def late_ms(self) -> list[float]:
        """Delay of each count's time after the end of its conversion, in ms, sorted."""
        return sorted((one.t_ns - frame.ready_ns) / 1e6 for one, frame in self._pairs())

    def _pairs(self) -> list[tuple[Conversion, Frame]]:
        frames = self.chip.frames
        ready_ns = [frame.ready_ns for frame in frames]
        return [
            (one, frames[bisect.bisect_right(ready_ns, one.t_ns) - 1])
            for one in self.read
            if one.counted
        ]


def interfering(seed: int, *, share: float, longest_s: float) -> Callable[[], int]:
    """A scheduler that delays GPIO calls at random, by 40 us or more.

    Args:
        seed: of the randomness.
        share: share of the calls that it delays.
        longest_s: the longest delay in s.
    """
    rng = random.Random(seed)  # noqa: S311  (seeded chance is the point)

    def held_up() -> int:
        if rng.random() >= share / 2:  # called twice per GPIO call
            return 0
        return round(rng.uniform(_SHORTEST_S, longest_s) * NS_PER_S)

    return held_up
