"""One simulated run of the benchmark, and what is measured on its true load."""

import random
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf, pi, sqrt

import _hands as hands
import _people as people
from _screen import gauge, rendered, seen_warnings

from ramphold.core import (
    PacingStart,
    Reading,
    RunPlan,
    RunState,
    Style,
    Tracker,
    Verdict,
    WarningKind,
    WarningRaised,
)
from ramphold.sim import Operator, OperatorHabits, Sensor, SensorParameters

NS = 1_000_000_000
BLUNT = SensorParameters(spike_share=0.0)
#: From a reading to the cells of the screen, as `tests/bench/screen.py` measures it, rounded up.
SCREEN_NS = 50_000_000


@dataclass(frozen=True, slots=True)
class Outcome:
    """One run, measured on the true load; deviations and loads in % of the target.

    Attributes:
        rms_pct, worst_pct: deviation from the ramp line until the arrival.
        peak_pct: greatest load over the target.
        over_ceiling: whether the plan's ceiling was ever crossed.
        in_1, in_2: share of the hold within 1 % and 2 % of target.
        topped_pct: greatest load over the target later than 15 s after the arrival, when only
            top-ups raise it.
        hold_error_s: true time at target less the planned time.
        paces: the least and the greatest pace asked for, as shares of an even pull.
        passed: whether the run's own verdict is `pass`.
        near_ceiling: warnings of that kind, and `cues` how many cues were given.
        latched: latched warnings, and `no_answer` those that the load does not answer. The readings
            never stick here, so each of these is false, or a hand that does not pull.
        trace: (s since the ramp began, psi, line in psi), where asked for.
    """

    rms_pct: float
    worst_pct: float
    peak_pct: float
    over_ceiling: bool
    in_1: float
    in_2: float
    hold_error_s: float
    topped_pct: float = 0.0
    paces: tuple[float, float] = (1.0, 1.0)
    passed: bool = False
    near_ceiling: int = 0
    cues: int = 0
    latched: int = 0
    no_answer: int = 0
    failed: tuple[str, ...] = ()
    trace: tuple[tuple[float, float, float], ...] = ()


Person = Operator | people.Unaided | people.AllKnowing


def _paced(rng: random.Random, habits: OperatorHabits, _target_psi: float) -> Operator:
    return Operator(rng, habits)


ROWS: dict[str, Callable[[random.Random, OperatorHabits, float], Person]] = {
    "paced": _paced,
    "unaided squeeze": people.UnaidedSqueeze,
    "unaided strokes": people.UnaidedStrokes,
    "bound: perfect squeeze": people.PerfectSqueeze,
    "bound: perfect strokes": people.PerfectStrokes,
}


class Bench:
    """A press, a sensor, a tracker and a person, moved on tick by tick."""

    def __init__(self, row: str, case: hands.Case, seed: int, plants: hands.PlantSet) -> None:
        rng = random.Random(plants.first_seed + seed)
        self.case = case
        self.press = hands.draw_press(rng, plants, case)
        self.habits = hands.draw_habits(rng, plants, case)
        start = PacingStart()
        if case.commissioned:
            start = commissioned(rng, case, seed, plants, self.habits)
        per_s = case.per_s
        self.sensor = Sensor(rng, SensorParameters(noise_lbf=0.45 if per_s > 20 else 0.25))
        self.blunt = Sensor(rng, BLUNT)
        style = Style.STROKES if case.strokes else Style.SQUEEZE
        self.plan = RunPlan(target_psi=case.target_psi, style=style, pacing=start)
        self.tracker = Tracker(self.plan, t_ns=0)
        self.person = ROWS[row](rng, self.habits, case.target_psi)
        self.paces = 1.0, 1.0
        #: Whether the press has a gauge of its own, for a load that does not answer.
        self.has_gauge = True
        self._aided = isinstance(self.person, Operator)
        self.tick_ns = NS // 80 if per_s > 20 else NS // 40
        self.ticks_per_reading = NS // per_s // self.tick_ns
        self.t_ns = self._tick = 0
        self._lever_up = False
        self._sum_lbf = 0.0
        self._rng = rng
        self._pair_ns, self._pair_left, self._pair_lbf = 3 * NS, 0, 0.0
        self.events = []
        self._coming = deque([(0, rendered(self.tracker.snapshot(), 0))])
        self.screen = self._coming[0][1]
        self.start: tuple[int, float] | None = None
        self.press.step(0, people.LeverMove())

    def begin_from(self, start: PacingStart) -> None:
        """Begin the run from what was known of press and hand before; before its first step."""
        self.plan = replace(self.plan, pacing=start)
        self.tracker = Tracker(self.plan, t_ns=0)

    def step(self) -> bool:
        """One tick; whether the valve is open."""
        self.t_ns += self.tick_ns
        while self._coming and self._coming[0][0] <= self.t_ns:
            self.screen = self._coming.popleft()[1]
        seating = self.tracker.state in (RunState.READY, RunState.SEATING)
        move = self._seat() if seating else self._move()
        self._sum_lbf += self.press.step(self.t_ns, move)
        self._tick += 1
        if self._tick % self.ticks_per_reading == 0:
            self._read(pumping=move.travel > 0, seating=seating)
        return move.valve_open

    def _move(self) -> people.LeverMove:
        person = self.person
        if isinstance(person, Operator):
            gauge_psi = self.press.stress_psi if self.has_gauge else None
            return person.act(self.t_ns, self.screen, gauge_psi=gauge_psi)
        if isinstance(person, people.AllKnowing):
            return person.act(self.t_ns, self.press)
        assert self.start is not None
        gauge_psi = float(self.screen.stress.replace(" ", "").replace("--", "0"))
        climbed = people.PLANNED_PSI_S * (self.t_ns - self.start[0]) / NS
        return person.act(self.t_ns, gauge_psi, min(self.start[1] + climbed, self.case.target_psi))

    def _seat(self) -> people.LeverMove:
        """All seat alike: a slow pull, with one return of the lever halfway."""
        hand = self.person.hand
        if self.press.stress_psi > 50 and not self._lever_up:
            self._lever_up = True
            hand.back()
        elif not hand.busy:
            hand.pull(0.05 / self.case.pump)
        return hand.move(self.tick_ns / NS)

    def _read(self, *, pumping: bool, seating: bool) -> None:
        # The indicator averages over its reading period.
        mean_lbf, self._sum_lbf = self._sum_lbf / self.ticks_per_reading, 0.0
        sensor = self.blunt if seating else self.sensor
        force_lbf = sensor.read(mean_lbf, pumping=pumping)
        if self.case.false_pairs_lbf and not seating:
            force_lbf += self._false_lbf()
        self.events += self.tracker.feed(Reading(t_ns=self.t_ns, force_lbf=force_lbf))
        if seating and self.tracker.state not in (RunState.READY, RunState.SEATING):
            self.start = self.t_ns, self.press.stress_psi
            self.person.hand.pull(0.0)
        self.events += seen_warnings(self.tracker, self.t_ns)
        snapshot = self.tracker.snapshot()
        if snapshot.cue is not None and snapshot.cue.pace is not None:
            least, most = self.paces
            self.paces = min(least, snapshot.cue.pace), max(most, snapshot.cue.pace)
        screen = rendered(snapshot, self.t_ns) if self._aided else gauge(snapshot)
        self._coming.append((self.t_ns + SCREEN_NS, screen))

    def _false_lbf(self) -> float:
        if self.t_ns >= self._pair_ns:
            self._pair_ns += 4 * NS
            self._pair_left = 2
            self._pair_lbf = self._rng.choice((-1.0, 1.0)) * self.case.false_pairs_lbf
        if not self._pair_left:
            return 0.0
        self._pair_left -= 1
        return self._pair_lbf


def run(
    row: str, case: hands.Case, seed: int, plants: hands.PlantSet, *, traced: bool = False
) -> Outcome:
    """One run from the first touch to the opened valve and the end of the record."""
    bench = Bench(row, case, seed, plants)
    while bench.start is None:
        bench.step()
        if bench.t_ns > 120 * NS:
            return Outcome(inf, inf, 0.0, over_ceiling=False, in_1=0, in_2=0, hold_error_s=inf)
    start_ns, start_psi = bench.start
    trace: list[tuple[float, float, float]] = []
    most_s = (case.target_psi - start_psi) / people.PLANNED_PSI_S * 1.5 + 240
    while bench.t_ns - start_ns < most_s * NS:
        if bench.step():
            break
        t_s = (bench.t_ns - start_ns) / NS
        line_psi = min(case.target_psi, start_psi + people.PLANNED_PSI_S * t_s)
        trace.append((t_s, bench.press.stress_psi, line_psi))
    outcome = measure(trace, bench.plan, bench.tick_ns / NS)
    for _ in range(round(4 / (bench.tick_ns / NS))):
        bench.step()
    return replace(outcome, trace=tuple(trace) if traced else (), **_of_tracker(bench))


def _of_tracker(bench: Bench) -> dict[str, object]:
    assessment = bench.tracker.assess()
    raised = [e.kind for e in bench.events if isinstance(e, WarningRaised)]
    return {
        "passed": assessment.verdict is Verdict.PASS,
        "failed": tuple(check.name for check in assessment.checks if check.passed is False),
        "near_ceiling": raised.count(WarningKind.NEAR_CEILING),
        "paces": bench.paces,
        "no_answer": raised.count(WarningKind.NO_ANSWER),
        "latched": sum(kind.latched for kind in raised),
        "cues": sum(type(e).__name__ == "CueGiven" for e in bench.events),
    }


def commissioned(
    rng: random.Random,
    case: hands.Case,
    seed: int,
    plants: hands.PlantSet,
    habits: OperatorHabits,
) -> PacingStart:
    """What a trial of this kind of press by this hand gives, on a bed of its own."""
    from _commissioning import tried  # noqa: PLC0415 - only where a case asks for it

    again = random.Random(plants.first_seed + seed)
    return tried(rng, hands.draw_press(again, plants, case), habits)


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
        over_ceiling=peak * pi > plan.ceiling_lbf,
        in_1=sum(abs(share) <= 0.01 for share in held) / max(len(held), 1),
        in_2=sum(abs(share) <= 0.02 for share in held) / max(len(held), 1),
        topped_pct=max(held[round(15 / tick_s) :], default=0.0) * 100,
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
