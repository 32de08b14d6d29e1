"""The people of the benchmark that the program has no use for: unaided, and all-knowing.

The unaided have a gauge and a stopwatch: `act(t_ns, gauge_psi, line_psi)`. The all-knowing are
given the press itself: `act(t_ns, press)`. Both give the lever's move since the last call.
"""

import copy
import math
import random

from ramphold.method import cell
from ramphold.sim import Hand, LeverMove, OperatorHabits, Press

NS = 1_000_000_000
PLANNED_PSI_S = 2000 / 60
HOLD_S = 120.0
SIZES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)


class Unaided:
    """Has a number and a stopwatch: looks now and then, judges, and acts on what was seen.

    Looks every 1 to 2.5 s in the ramp and 2 to 5 s in the hold, more often close to the target;
    needs 0.6 s to judge, or 0.4 s
    when watching the number while pulling. Starts the stopwatch anew on seeing 99 % of the target.
    """

    def __init__(self, rng: random.Random, habits: OperatorHabits, target_psi: float) -> None:
        self.rng = rng
        self.hand = Hand(rng, habits.hand)
        self.target_psi = target_psi
        self._t_ns: int | None = None
        self._look_ns = self._judged_ns = 0
        self._saw_psi = self._line_psi = 0.0
        self._pending = False
        self._held_from_ns: int | None = None
        self._late_ns = round(rng.gauss(0.6, 0.2) * NS)
        self._valve = False

    def act(self, t_ns: int, gauge_psi: float, line_psi: float) -> LeverMove:
        elapsed_s = 0.0 if self._t_ns is None else (t_ns - self._t_ns) / NS
        self._t_ns = t_ns
        if self._held_from_ns and t_ns >= self._held_from_ns + HOLD_S * NS + max(self._late_ns, 0):
            self._valve = True
        if self._valve:
            return LeverMove(valve_open=True)
        if self._pending and t_ns >= self._judged_ns:
            self._pending = False
            if self._saw_psi >= 0.99 * self.target_psi and self._held_from_ns is None:
                self._held_from_ns = t_ns
            self.judge(self._saw_psi, self._line_psi, holding=self._held_from_ns is not None)
            if self.hand.pulling and self._held_from_ns is not None:
                self._look_ns = min(self._look_ns, t_ns + NS // 2)
        if not self._pending and t_ns >= self._look_ns:
            self._look(t_ns, gauge_psi, line_psi)
        return self.hand.move(elapsed_s)

    def _look(self, t_ns: int, gauge_psi: float, line_psi: float) -> None:
        rng = self.rng
        self._saw_psi, self._line_psi = gauge_psi, line_psi
        self._pending = True
        # Someone who pulls close to the target keeps the eyes on the number.
        close = self._saw_psi > self.target_psi - 250.0
        watching = close and self.hand.pulling
        takes_s = max(rng.gauss(0.4, 0.1) if watching else rng.gauss(0.6, 0.2), 0.15)
        self._judged_ns = t_ns + round(takes_s * NS)
        every = (2.0, 5.0) if self._held_from_ns else (1.0, 2.5)
        if watching:
            every = (0.25, 0.5)
        elif close and self._held_from_ns is None:
            every = (0.5, 1.0)
        self._look_ns = t_ns + round(rng.uniform(*every) * NS)

    def judge(self, saw_psi: float, line_psi: float, *, holding: bool) -> None:
        raise NotImplementedError


class UnaidedStrokes(Unaided):
    """Quarter strokes when under the line, smaller ones close to the target."""

    def __init__(self, rng: random.Random, habits: OperatorHabits, target_psi: float) -> None:
        super().__init__(rng, habits, target_psi)
        # What this person has found a full stroke to give at this load.
        self._gain_psi = 1000.0 * (target_psi / 4000) ** 0.15 * rng.lognormvariate(0.0, 0.15)

    def judge(self, saw_psi: float, line_psi: float, *, holding: bool) -> None:
        if self.hand.busy:
            return
        if holding:
            if saw_psi < 0.993 * self.target_psi:
                self.hand.stroke(1 / 16)
        elif saw_psi < line_psi:
            left_psi = self.target_psi - saw_psi
            size = 1 / 4
            while size > 1 / 16 and size * self._gain_psi > left_psi:
                size /= 2
            self.hand.stroke(size)


class UnaidedSqueeze(Unaided):
    """A slow pull, a little faster or slower at each look."""

    def __init__(self, rng: random.Random, habits: OperatorHabits, target_psi: float) -> None:
        super().__init__(rng, habits, target_psi)
        self._usual_per_s = 0.035

    def judge(self, saw_psi: float, line_psi: float, *, holding: bool) -> None:
        target = self.target_psi
        if holding or saw_psi >= 0.99 * target:
            low = 1.0 if self.hand.pulling else 0.996
            self.hand.pull(self.hand.habits.slowest_per_s if saw_psi < low * target else 0.0)
            return
        behind = max(-1.0, min(1.0, (line_psi - saw_psi) / 120.0))
        self._usual_per_s *= 1 + 0.1 * behind
        # Slows down over the last four seconds of the ramp, ahead or behind.
        most = max((target - saw_psi) / (PLANNED_PSI_S * 4.0), 0.35)
        wanted_per_s = self._usual_per_s * min(1 + behind, most)
        arriving = saw_psi < line_psi and most < 1
        self.hand.pull(max(wanted_per_s, self.hand.habits.slowest_per_s * arriving))


class AllKnowing:
    """Knows press and bed, and has no delay; releases to the millisecond."""

    def __init__(self, rng: random.Random, habits: OperatorHabits, target_psi: float) -> None:
        self.hand = Hand(rng, habits.hand)
        self.target_psi = target_psi
        target_lbf = cell.force_lbf(target_psi, cell.STANDARD_BORE_IN)
        ceiling_lbf = cell.default_ceiling_lbf(target_lbf, math.inf)
        self.most_psi = 0.999 * ceiling_lbf / math.pi
        self.start: tuple[int, float] | None = None
        self._t_ns: int | None = None
        self._arrived_ns: int | None = None

    def act(self, t_ns: int, press: Press) -> LeverMove:
        elapsed_s = 0.0 if self._t_ns is None else (t_ns - self._t_ns) / NS
        self._t_ns = t_ns
        if self.start is None:
            self.start = t_ns, press.stress_psi
        if press.stress_psi < 0.99 * self.target_psi and not self._held(t_ns):
            self._arrived_ns = None
        elif self._arrived_ns is None:
            self._arrived_ns = t_ns
        if self._arrived_ns is not None and t_ns >= self._arrived_ns + HOLD_S * NS:
            return LeverMove(valve_open=True)
        return self.move(t_ns, elapsed_s, press)

    def _held(self, t_ns: int) -> bool:
        return self._arrived_ns is not None and t_ns - self._arrived_ns >= 0.4 * NS

    def line_psi(self, t_ns: float) -> float:
        assert self.start is not None
        return min(self.target_psi, self.start[1] + PLANNED_PSI_S * (t_ns - self.start[0]) / NS)

    def move(self, t_ns: int, elapsed_s: float, press: Press) -> LeverMove:
        raise NotImplementedError


class PerfectStrokes(AllKnowing):
    """Exact strokes of at least 1/16, at least 2 s apart, each centred on the line.

    Takes the smallest that keeps up, and a larger one only where that too would be centred.
    """

    def __init__(self, rng: random.Random, habits: OperatorHabits, target_psi: float) -> None:
        super().__init__(rng, habits, target_psi)
        self._left = 0.0
        self._per_s = 0.0
        self._next_ns = 0
        self._gains: dict[float, float] = {}

    def move(self, t_ns: int, elapsed_s: float, press: Press) -> LeverMove:
        press.lever = 0.0
        if self._left > 0:
            travel = min(self._per_s * elapsed_s, self._left)
            self._left -= travel
            if self._left < 1e-9:
                self._left, self._gains = 0.0, {}
            return LeverMove(travel=travel)
        if t_ns < self._next_ns:
            return LeverMove()
        if not self._gains:
            self._gains = self._weigh(press)
        for size, gain_psi in reversed(self._gains.items()):
            lasts_s = 0.25 + 0.5 * size
            centre_psi = press.stress_psi + gain_psi / 2
            if centre_psi <= self.line_psi(t_ns + lasts_s / 2 * NS):
                self._left, self._per_s = size, size / lasts_s
                self._next_ns = t_ns + 2 * NS
                break
        return LeverMove()

    def _weigh(self, press: Press) -> dict[float, float]:
        """What each stroke from the smallest that keeps up on would gain, under the ceiling."""
        assert self._t_ns is not None
        resting = copy.copy(press)
        lost_psi = press.stress_psi - resting.step(self._t_ns + 2 * NS, LeverMove()) / math.pi
        wanted_psi = PLANNED_PSI_S * 2 + lost_psi
        left_psi = self.target_psi - press.stress_psi
        gains: dict[float, float] = {}
        for size in SIZES:
            gain_psi = self._gain(press, size)
            if press.stress_psi + gain_psi >= self.most_psi:
                break
            if gains and max(gains.values()) >= wanted_psi:
                return {max(gains): gains[max(gains)], size: gain_psi}
            gains[size] = gain_psi
            if left_psi < 2 * gain_psi:
                break
        return dict(list(gains.items())[-1:])

    def _gain(self, press: Press, size: float) -> float:
        trial = copy.copy(press)
        trial.lever = 0.0
        assert self._t_ns is not None
        trial.step(self._t_ns + round((0.25 + 0.5 * size) * NS), LeverMove(travel=size))
        return trial.stress_psi - press.stress_psi


class PerfectSqueeze(AllKnowing):
    """A pull of just the right speed, with a second lost at each return of the lever."""

    def move(self, t_ns: int, elapsed_s: float, press: Press) -> LeverMove:
        if press.lever >= 1.0 or self._back:
            self._back = press.lever > 0
            if self._back:
                return LeverMove(travel=-elapsed_s)
        trial = copy.copy(press)
        trial.step(t_ns, LeverMove())
        short_psi = self.line_psi(t_ns) - trial.stress_psi
        gain_psi = 1000.0 * (press.stress_psi / 4000) ** 0.15
        return LeverMove(travel=min(max(short_psi / gain_psi, 0.0), 0.3 * elapsed_s))

    _back = False
