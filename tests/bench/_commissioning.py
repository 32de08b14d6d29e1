"""A press tried out before the first run: the strokes of a trial on sand, and what they give."""

import random
from collections.abc import Iterator

from ramphold.core import TRIAL, Medium, PacingStart, StepKind, judge_trial
from ramphold.sim import Hand, LeverMove, OperatorHabits, Sensor, SensorParameters

NS = 1_000_000_000
TICK_NS = NS // 80
REST_S = 5.0


def tried(rng: random.Random, press, habits: OperatorHabits) -> PacingStart:
    """Make the strokes of a trial on the press; what the pacing starts from after it."""
    trial = _Trial(rng, press, habits)
    steps = [s for s in TRIAL if s.medium is Medium.SAND and s.kind is StepKind.STROKES]
    seen = [(step, list(trial.strokes(step.size, step.count))) for step in reversed(steps)]
    return judge_trial(seen).start


class _Trial:
    def __init__(self, rng: random.Random, press, habits: OperatorHabits) -> None:
        self._press, self._hand = press, Hand(rng, habits.hand)
        self._sensor = Sensor(rng, SensorParameters(noise_lbf=0.45, spike_share=0.0))
        self._t_ns = 0
        press.step(0, LeverMove())
        # Somewhat under load before the first stroke that counts.
        while press.stress_psi < 300:
            self._hand.pull(0.05)
            self._tick()

    def strokes(self, size: float, count: int) -> Iterator[tuple[int, float]]:
        for _ in range(count):
            yield from (self._tick() for _ in range(80))
            self._hand.pull(0.0)
            self._hand.stroke(size)
            yield from (self._tick() for _ in range(round(REST_S * 80)))

    def _tick(self) -> tuple[int, float]:
        self._t_ns += TICK_NS
        move = self._hand.move(TICK_NS / NS)
        force_lbf = self._press.step(self._t_ns, move)
        read_lbf = self._sensor.read(force_lbf, pumping=move.travel > 0)
        return self._t_ns, read_lbf / 3.141592653589793
