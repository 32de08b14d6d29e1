"""One simulated run of the benchmark, and what is measured on its true load."""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf, sqrt

import _people as people

from ramphold.core import Reading, RunPlan, RunState, Style, Tracker
from ramphold.sim import Operator, OperatorHabits, Press, PressParameters, Sensor, SensorParameters
from ramphold.sim._hand import HandHabits

NS = 1_000_000_000
BLUNT = SensorParameters(spike_share=0.0)


@dataclass(frozen=True, slots=True)
class PlantSet:
    """From which ranges presses and people are drawn, and with which seeds.

    Attributes:
        name: what the table calls it.
        first_seed: seeds count up from here; no set shares one.
        spread: multiple of the press's usual spreads.
        pump: further log-normal spread of the pump's stroke.
        person: log-normal spread of a person's habits.
        delay_s: spread of the reaction time.
    """

    name: str
    first_seed: int
    spread: float
    pump: float
    person: float
    delay_s: float


#: The pacing was tuned on `tuning` alone. The first set is drawn wider, the second wider still.
SETS = {
    "tuning": PlantSet("tuning", 9_000_000, 1.0, 0.0, 0.2, 0.05),
    "first": PlantSet("first", 0, 1.25, 0.1, 0.3, 0.06),
    "second": PlantSet("second", 5_000_000, 1.5, 0.25, 0.4, 0.08),
}


@dataclass(frozen=True, slots=True)
class Outcome:
    """One run, measured on the true load; deviations and loads in % of the target.

    Attributes:
        rms_pct, worst_pct: deviation from the ramp line until the arrival.
        peak_pct: greatest load over the target.
        over_ceiling: whether the plan's ceiling was ever crossed.
        in_1, in_2: share of the hold within 1 % and 2 % of target.
        hold_error_s: true time at target less the planned time.
        trace: (s since the ramp began, psi, line in psi), where asked for.
    """

    rms_pct: float
    worst_pct: float
    peak_pct: float
    over_ceiling: bool
    in_1: float
    in_2: float
    hold_error_s: float
    trace: tuple[tuple[float, float, float], ...] = ()


Person = Operator | people.Unaided | people.AllKnowing


def _paced(rng: random.Random, habits: OperatorHabits, _target_psi: float) -> Operator:
    return Operator(rng, habits)


def _naive(rng: random.Random, habits: OperatorHabits, _target_psi: float) -> Operator:
    return people.Naive(rng, habits)


ROWS: dict[str, Callable[[random.Random, OperatorHabits, float], Person]] = {
    "number + stopwatch, strokes": people.UnaidedStrokes,
    "number + stopwatch, slow squeeze": people.UnaidedSqueeze,
    "naive cue": _naive,
    "paced strokes": _paced,
    "paced squeeze": _paced,
    "bound: perfect strokes": people.PerfectStrokes,
    "bound: perfect squeeze": people.PerfectSqueeze,
}
STYLES = {"paced strokes": Style.STROKES, "paced squeeze": Style.SQUEEZE}


def draw_habits(rng: random.Random, plants: PlantSet) -> OperatorHabits:
    """Another person."""

    def around(value: float) -> float:
        return value * rng.lognormvariate(0.0, plants.person)

    usual = HandHabits()
    return OperatorHabits(
        delay_s=max(rng.gauss(0.25, plants.delay_s), 0.12),
        lapses_per_s=around(0.02),
        answer_psi=around(40.0),
        hand=replace(
            usual,
            stroke_scatter=around(usual.stroke_scatter),
            stroke_bias=around(usual.stroke_bias),
            unevenness=around(usual.unevenness),
            stick=around(usual.stick),
            slowest_per_s=around(usual.slowest_per_s),
        ),
    )


class Bench:
    """A press, a sensor, a tracker and a person, moved on tick by tick."""

    def __init__(
        self, row: str, target_psi: float, seed: int, plants: PlantSet, per_s: int
    ) -> None:
        rng = random.Random(plants.first_seed + seed)
        parameters = PressParameters(gap_cm3=0.0).draw(rng, plants.spread)
        pump = parameters.stroke_cm3 * rng.lognormvariate(0.0, plants.pump)
        self.press = Press(replace(parameters, stroke_cm3=pump), rng)
        self.habits = draw_habits(rng, plants)
        noise_lbf = 0.45 if per_s > 20 else 0.25
        self.sensor = Sensor(rng, SensorParameters(noise_lbf=noise_lbf))
        self.blunt = Sensor(rng, BLUNT)
        self.plan = RunPlan(target_psi=target_psi, style=STYLES.get(row, Style.SQUEEZE))
        self.tracker = Tracker(self.plan, t_ns=0)
        self.person = ROWS[row](rng, self.habits, target_psi)
        self.tick_ns = NS // 80 if per_s > 20 else NS // 40
        self.ticks_per_reading = NS // per_s // self.tick_ns
        self.t_ns = self._tick = 0
        self._lever_up = False
        self._sum_lbf = 0.0
        self.snapshot = self.tracker.snapshot()
        self.press.step(0, people.LeverMove())

    def step(self) -> bool:
        """One tick; whether the valve is open."""
        self.t_ns += self.tick_ns
        seating = self.tracker.state in (RunState.READY, RunState.SEATING)
        if seating:
            move = self._seat()
        elif isinstance(self.person, Operator):
            move = self.person.act(self.t_ns, self.snapshot)
        else:
            move = self.person.act(self.t_ns, self.snapshot, self.press)
        self._sum_lbf += self.press.step(self.t_ns, move)
        self._tick += 1
        if self._tick % self.ticks_per_reading == 0:
            self._read(pumping=move.travel > 0, seating=seating)
        return move.valve_open

    def _seat(self) -> people.LeverMove:
        """All seat alike: a slow pull, with one return of the lever halfway."""
        hand = self.person.hand
        if self.press.stress_psi > 50 and not self._lever_up:
            self._lever_up = True
            hand.back()
        elif not hand.busy:
            hand.pull(0.05)
        return hand.move(self.tick_ns / NS)

    def _read(self, *, pumping: bool, seating: bool) -> None:
        # The indicator averages over its reading period.
        mean_lbf, self._sum_lbf = self._sum_lbf / self.ticks_per_reading, 0.0
        sensor = self.blunt if seating else self.sensor
        force_lbf = sensor.read(mean_lbf, pumping=pumping)
        self.tracker.feed(Reading(t_ns=self.t_ns, force_lbf=force_lbf))
        self.snapshot = self.tracker.snapshot()


def run(
    row: str, target_psi: float, seed: int, plants: PlantSet, per_s: int, *, traced: bool = False
) -> Outcome:
    """One run from the first touch to the opened valve."""
    bench = Bench(row, target_psi, seed, plants, per_s)
    while bench.tracker._course.ramp is None:
        bench.step()
    bench.person.hand.pull(0.0)
    start_ns, start_psi = bench.t_ns, bench.press.stress_psi
    trace: list[tuple[float, float, float]] = []
    most_s = (target_psi - start_psi) / people.PLANNED_PSI_S * 1.5 + 240
    while bench.t_ns - start_ns < most_s * NS:
        if bench.step():
            break
        t_s = (bench.t_ns - start_ns) / NS
        line_psi = min(target_psi, start_psi + people.PLANNED_PSI_S * t_s)
        trace.append((t_s, bench.press.stress_psi, line_psi))
    outcome = measure(trace, bench.plan, bench.tick_ns / NS)
    return replace(outcome, trace=tuple(trace)) if traced else outcome


def measure(trace: list[tuple[float, float, float]], plan: RunPlan, tick_s: float) -> Outcome:
    """What one true load was like."""
    target = plan.target_psi
    arrival = _arrival(trace, target * 0.99, round(0.4 / tick_s))
    ramp, hold = trace[:arrival], [psi / target - 1 for _, psi, _ in trace[arrival:]]
    off = [(psi - line) / target * 100 for _, psi, line in ramp]
    peak = max(psi for _, psi, _ in trace)
    last_in = max((i for i, share in enumerate(hold) if abs(share) <= 0.02), default=0)
    held = hold[: last_in + 1]
    return Outcome(
        rms_pct=sqrt(sum(x * x for x in off) / max(len(off), 1)),
        worst_pct=max((abs(x) for x in off), default=inf),
        peak_pct=(peak / target - 1) * 100,
        over_ceiling=peak * plan.area_in2 > plan.ceiling_lbf,
        in_1=sum(abs(share) <= 0.01 for share in held) / max(len(held), 1),
        in_2=sum(abs(share) <= 0.02 for share in held) / max(len(held), 1),
        hold_error_s=len(held) * tick_s - plan.hold_s,
    )


def _arrival(trace: list[tuple[float, float, float]], level_psi: float, ticks: int) -> int:
    since = None
    for index, (_, psi, _) in enumerate(trace):
        if psi < level_psi:
            since = None
        elif since is None:
            since = index
        if since is not None and index - since >= ticks:
            return since
    return len(trace)
