"""Runs of an invented laboratory: drawn, not simulated, but followed and judged as real ones."""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from ramphold.clock import NS_PER_S
from ramphold.core import Assessment, EndRun, Event, Reading, RunPlan, Tracker
from ramphold.method import cell

_PER_S = 4
_RATE_PSI_S = 2000 / 60
_REST_S, _HOLD_S, _END_S = 2.0, 121.0, 4.0
# A hand's wobble about the line, and how the load sags before each top-up, in shares of the target.
_WOBBLE_PSI, _WOBBLE_S = 22.0, 7.0
_SAG, _TOP_UP_S = 0.006, 23.0
_NOISE_LBF = 4.0
# A pull that goes on over the target, and how long it takes to come back.
_OVER, _OVER_S = 0.034, 5.0


class RunFault(StrEnum):
    """How a run goes; those that are not good fail a check."""

    GOOD = "good"
    FAST = "ramp too fast"
    HIGH = "target overshot"
    SHORT = "hold too short"


@dataclass(frozen=True, slots=True)
class InventedRun:
    """A run as its bench kept it, with times from 0."""

    plan: RunPlan
    readings: tuple[Reading, ...]
    events: tuple[Event, ...]
    assessment: Assessment
    lasted_ns: int


class InventedRuns:
    """Gives runs of a few kinds again and again: a laboratory has hundreds of them.

    Args:
        rng: draws them.
        kinds: how many good runs there are of each target.
    """

    def __init__(self, rng: random.Random, kinds: int = 2) -> None:
        self._rng, self._kinds = rng, kinds
        self._made: dict[tuple[float, RunFault, int], InventedRun] = {}

    def one(self, target_psi: float, fault: RunFault = RunFault.GOOD) -> InventedRun:
        """A run at a target."""
        kind = self._rng.randrange(self._kinds) if fault is RunFault.GOOD else 0
        found = self._made.get((target_psi, fault, kind))
        if found is None:
            found = self._made[target_psi, fault, kind] = _run(self._rng, target_psi, fault)
        return found


def _run(rng: random.Random, target_psi: float, fault: RunFault) -> InventedRun:
    plan = RunPlan(target_psi=target_psi)
    tracker = Tracker(plan, t_ns=0)
    readings = list(_readings(rng, target_psi, fault))
    events = [event for one in readings for event in tracker.feed(one)]
    last_ns = readings[-1].t_ns
    if not tracker.ended:
        events += tracker.command(EndRun(reason="the valve was opened"), last_ns + 1)
    return InventedRun(plan, tuple(readings), tuple(events), tracker.assess(), last_ns)


def _readings(rng: random.Random, target_psi: float, fault: RunFault) -> Iterator[Reading]:
    rate_psi_s = _RATE_PSI_S * (1.16 if fault is RunFault.FAST else rng.uniform(0.985, 1.015))
    hold_s = 68.0 if fault is RunFault.SHORT else _HOLD_S
    top_psi = target_psi * rng.uniform(0.999, 1.003)
    over = _OVER if fault is RunFault.HIGH else 0.0
    phase = rng.uniform(0, math.tau)
    ramp_s = top_psi / rate_psi_s
    last = round((_REST_S + ramp_s + hold_s + _END_S) * _PER_S)
    for step in range(last + 1):
        run_s = step / _PER_S - _REST_S
        psi = _stress_psi(run_s, ramp_s, hold_s, top_psi, phase)
        psi += over * top_psi * _swing(run_s - ramp_s)
        force_lbf = cell.force_lbf(psi, 2.0) + rng.gauss(0, _NOISE_LBF)
        raw = round(force_lbf)
        t_ns = round(step / _PER_S * NS_PER_S + rng.gauss(0, 2e6)) + 10_000_000
        yield Reading(t_ns=t_ns, force_lbf=float(raw), raw=raw, unit="lbf")


def _stress_psi(run_s: float, ramp_s: float, hold_s: float, top_psi: float, phase: float) -> float:
    if run_s <= 0:
        return 0.0
    if run_s < ramp_s:
        wobble_psi = _WOBBLE_PSI * math.sin(math.tau * run_s / _WOBBLE_S + phase)
        share = run_s / ramp_s
        return max(top_psi * share + wobble_psi * min(1.0, 6 * share, 20 * (1 - share)), 0.0)
    held_s = run_s - ramp_s
    if held_s < hold_s:
        return top_psi * (1 - _SAG * (held_s % _TOP_UP_S) / _TOP_UP_S)
    return top_psi * max(1 - (held_s - hold_s), 0.0) ** 2


def _swing(held_s: float) -> float:
    return math.sin(math.pi * held_s / _OVER_S) if 0 <= held_s < _OVER_S else 0.0
