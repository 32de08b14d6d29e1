"""A hand on the lever: what it means to do, and what the lever does."""

import math
import random
from dataclasses import dataclass

from ramphold.sim._model import LeverMove


@dataclass(frozen=True, slots=True, kw_only=True)
class HandHabits:
    """How evenly one hand works a lever.

    Attributes:
        stroke_scatter: relative scatter of the size of part strokes.
        stroke_bias: spread of the personal bias of each size of part stroke.
        unevenness: slow relative unevenness of a pull.
        stick: travel that a sticky lever gathers before it moves, in full strokes.
        slowest_per_s: slowest pull that a hand can keep up, in full strokes/s.
        fastest_per_s: fastest pull while following a mark, in full strokes/s.
        return_s: time that a full lever return takes.
    """

    stroke_scatter: float = 0.12
    stroke_bias: float = 0.12
    unevenness: float = 0.15
    stick: float = 0.012
    slowest_per_s: float = 0.025
    fastest_per_s: float = 0.3
    return_s: float = 1.0


class Hand:
    """Does one thing at a time: a stroke with the lever's way back, a pull, a return, or rest."""

    def __init__(self, rng: random.Random, habits: HandHabits | None = None) -> None:
        self.habits = habits or HandHabits()
        #: Where the lever stands, as the hand feels it: 1 is the end of its stroke.
        self.lever = 0.0
        self._rng = rng
        self._biases: dict[float, float] = {}
        self._stroke_left = 0.0
        self._stroke_per_s = 0.0
        self._pull_per_s = 0.0
        self._returning = False
        self._gathered = 0.0
        self._stick = self.habits.stick
        self._evenness = 0.0

    @property
    def pulling(self) -> bool:
        """Whether a pull is going on."""
        return self._pull_per_s > 0

    @property
    def busy(self) -> bool:
        """Whether a stroke or a return is under way."""
        return self._stroke_left > 0 or self._returning

    def stroke(self, size: float) -> None:
        """Begin a stroke meant to be `size` full strokes."""
        habits, rng = self.habits, self._rng
        scatter = bias = 0.0
        if size < 1:
            bias = self._biases.setdefault(size, rng.gauss(0.0, habits.stroke_bias))
            scatter = rng.gauss(0.0, habits.stroke_scatter)
        self._stroke_left = min(max(size * (1 + bias + scatter), 0.2 * size), 1.0)
        self._stroke_per_s = self._stroke_left / (0.25 + 0.5 * size)

    def pull(self, per_s: float) -> None:
        """Pull on at `per_s` full strokes a second, or let it rest at 0."""
        slowest = self.habits.slowest_per_s
        floor = 0.0 if per_s < slowest / 2 else slowest
        self._pull_per_s = min(max(per_s, floor), self.habits.fastest_per_s) if floor else 0.0

    def back(self) -> None:
        """Begin to bring the lever back up."""
        self._returning = self.lever > 0
        self._pull_per_s = self._gathered = 0.0

    def move(self, elapsed_s: float) -> LeverMove:
        """What the lever did over the last `elapsed_s`."""
        if self._stroke_left > 0:
            return self._on_stroke(elapsed_s)
        if self._returning:
            travel = min(elapsed_s / self.habits.return_s, self.lever)
            self.lever -= travel
            self._returning = self.lever > 0
            return LeverMove(travel=-travel)
        return self._on_pull(elapsed_s)

    def _on_stroke(self, elapsed_s: float) -> LeverMove:
        travel = min(self._stroke_per_s * elapsed_s, self._stroke_left, 1.0 - self.lever)
        self._stroke_left -= self._stroke_per_s * elapsed_s
        self.lever += travel
        if self._stroke_left <= 0:
            self._stroke_left = 0.0
            self._returning = True
        return LeverMove(travel=travel)

    def _on_pull(self, elapsed_s: float) -> LeverMove:
        habits, rng = self.habits, self._rng
        if not self._pull_per_s:
            return LeverMove()
        keep = math.exp(-elapsed_s)
        self._evenness = keep * self._evenness + rng.gauss(
            0.0, habits.unevenness * math.sqrt(1 - keep * keep)
        )
        self._gathered += max(self._pull_per_s * (1 + self._evenness), 0.0) * elapsed_s
        if self._gathered < self._stick:
            return LeverMove()
        travel = min(self._gathered, 1.0 - self.lever)
        self._gathered = 0.0
        self._stick = habits.stick * rng.uniform(0.5, 1.5)
        self.lever += travel
        if self.lever >= 1.0:
            self._returning = True
        return LeverMove(travel=travel)
