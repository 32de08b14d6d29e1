"""The whole chain of a bridge converter: in bits, under hx711-multi's own code, under ours."""

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

__all__ = ["BridgeRig", "interfering"]

_INPUTS = {128: "A128", 64: "A64", 32: "B32"}
_SHORTEST_S = 40e-6


class BridgeRig:
    """A converter, its wires, and all that was read of it, in virtual time.

    Args:
        time: the chip's own.
        chip: the converter.
        says: conversions a second that the reader is told of.
        gain: that the reader asks for.
        call_ns: what a GPIO call takes, in ns.
        held_up: how long the scheduler holds a call up, in ns.
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
        with gpio_in_place(self.gpio, time):
            self.converter = BridgeConverter(
                BridgePins(gain=gain), per_s=says, clock=time, sleep=time.sleep
            )

    def run(self, seconds: float) -> list[Conversion]:
        """Read for a time in s; what came in it."""
        first, end_ns = len(self.read), self.time.now_ns() + seconds * NS_PER_S
        while self.time.now_ns() < end_ns:
            self.read += self.converter.read()
        return self.read[first:]

    def good(self) -> list[Conversion]:
        """The counts that were given as good."""
        return [one for one in self.read if one.quality is Quality.GOOD]

    def errors(self) -> list[float]:
        """How far each count is from the code of the conversion that it is stamped as.

        Infinite where that one is of another input, or not settled.
        """
        pairs = self._pairs()
        return [
            abs(one.count - frame.code)
            if frame.settled and frame.input == self._input
            else math.inf
            for one, frame in pairs
        ]

    def late_ms(self) -> list[float]:
        """How long after the end of its conversion each count is stamped, in ms, rising."""
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
    """A scheduler that holds GPIO calls up by chance, for 40 us or more.

    Args:
        seed: of chance.
        share: of the calls that are held up.
        longest_s: the longest time in s.
    """
    rng = random.Random(seed)  # noqa: S311  (seeded chance is the point)

    def held_up() -> int:
        if rng.random() >= share / 2:  # it is asked twice a call
            return 0
        return round(rng.uniform(_SHORTEST_S, longest_s) * NS_PER_S)

    return held_up
