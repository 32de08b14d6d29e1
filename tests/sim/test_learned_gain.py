"""The gain that a run learns, and the strokes it calls, against the press that has the gain."""

import copy
import math
import random
from dataclasses import replace

import _hands
import _runs
import pytest

from ramphold.core import ChooseStyle, CueGiven, CueKind, RunState, Style
from ramphold.core._learning import Learned
from ramphold.core._stroking import SIZES
from ramphold.sim import LeverMove

S = 1_000_000_000
SETS = list(_hands.SETS)


def bench_of(name, seed, **case):
    return _runs.Bench("paced", _hands.Case("", **case), seed, _hands.SETS[name])


def after_stroke_psi(bench, size):
    """The true load after a stroke of exactly that size, made now."""
    trial = copy.copy(bench.press)
    trial.lever = 0.0
    trial.step(bench.t_ns + round((0.25 + 0.5 * size) * S), LeverMove(travel=size))
    return trial.stress_psi


def gain_psi(bench):
    """True gain of a full stroke here, by an eighth of one."""
    return 8 * (after_stroke_psi(bench, 1 / 8) - bench.press.stress_psi)


def go_on_until(bench, state):
    while bench.tracker.state is not state:
        bench.step()
        assert bench.t_ns < 400 * S
    return bench


@pytest.mark.slow
@pytest.mark.parametrize("pump", [0.6, 1.0, 2.0])
@pytest.mark.parametrize("name", SETS)
def test_strokes_teach_the_gain_to_within_a_third(name, pump):
    bench = go_on_until(bench_of(name, 2, pump=pump, strokes=True), RunState.HOLD)
    called = [e.size for e in bench.events if isinstance(e, CueGiven) and e.kind is CueKind.STROKE]
    # What counts is the gain of a stroke as this hand makes it: its eighths are off for good.
    made = 1 + bench.person.hand._biases[called[-1]]
    learned, true_psi = Learned(bench.tracker.learned), made * gain_psi(bench)
    assert 0.75 < learned.gain_psi(bench.press.stress_psi) / true_psi < 1.34


@pytest.mark.slow
@pytest.mark.parametrize("pump", [0.6, 1.0, 2.0])
@pytest.mark.parametrize("name", SETS)
def test_a_squeeze_teaches_no_gain_and_claims_to_know_none(name, pump):
    bench = go_on_until(bench_of(name, 2, pump=pump), RunState.HOLD)
    learned = Learned(bench.tracker.learned)
    assert learned.gain_sd == pytest.approx(0.5)
    off = math.log(gain_psi(bench) / learned.gain_psi(bench.press.stress_psi))
    assert abs(off) < 2 * learned.gain_sd


@pytest.mark.slow
@pytest.mark.parametrize("changes_at", [0.3, 0.9, 0.96])
@pytest.mark.parametrize("pump", [1.0, 2.0])
@pytest.mark.parametrize("name", SETS)
def test_no_called_stroke_crosses_the_ceiling_also_after_a_change_of_style(name, pump, changes_at):
    bench = bench_of(name, 3, pump=pump)
    called = seen = 0
    while bench.tracker.state is not RunState.RELEASE and bench.t_ns < 400 * S:
        bench.step()
        changed = bench.tracker.snapshot().style is Style.STROKES
        if not changed and bench.press.stress_psi > changes_at * 4000:
            bench.tracker.command(ChooseStyle(style=Style.STROKES), bench.t_ns)
        events, seen = bench.events[seen:], len(bench.events)
        for event in events:
            if isinstance(event, CueGiven) and event.kind is CueKind.STROKE:
                called += 1
                assert after_stroke_psi(bench, event.size) * math.pi <= bench.plan.ceiling_lbf
    assert bench.tracker.state is RunState.RELEASE
    if changes_at < 0.9:
        assert called > 3


@pytest.mark.slow
@pytest.mark.parametrize("target_psi", [2000.0, 4000.0])
@pytest.mark.parametrize("pump", [1.0, 2.0])
@pytest.mark.parametrize("name", SETS)
def test_after_any_change_of_style_a_called_stroke_stays_under_the_ceiling_and_near_its_promise(
    name, pump, target_psi
):
    bench = bench_of(name, 5, pump=pump, target_psi=target_psi)
    changes, rng = [], random.Random(round(pump + target_psi))
    called = seen = 0
    while bench.tracker.state not in (RunState.HOLD, RunState.RELEASE) and bench.t_ns < 300 * S:
        bench.step()
        if bench.tracker.state is RunState.RAMP and (not changes or changes[-1] <= bench.t_ns):
            changes.append(bench.t_ns + round(rng.uniform(1.0, 12.0) * S))
            other = Style.SQUEEZE if len(changes) % 2 else Style.STROKES
            bench.tracker.command(ChooseStyle(style=other), bench.t_ns)
        events, seen = bench.events[seen:], len(bench.events)
        for event in events:
            if isinstance(event, CueGiven) and event.kind is CueKind.STROKE:
                called += 1
                exactly_psi = after_stroke_psi(bench, event.size)
                assert exactly_psi * math.pi <= bench.plan.ceiling_lbf
                # What is learned is the gain of a stroke as this hand makes it.
                made = 1 + bench.person.hand._biases.get(event.size, 0.0)
                would_psi = after_stroke_psi(bench, made * event.size)
                # Nothing smaller than the smallest can be called.
                if event.size > SIZES[0]:
                    assert would_psi - event.after_psi <= 0.03 * target_psi
    assert called > 3


@pytest.mark.slow
def test_the_next_run_of_a_hand_and_press_starts_better_from_what_the_first_learned():
    first, again, usual = [], [], []
    for seed in (13, 17, 27):
        bench = go_on_until(bench_of("own", seed), RunState.RELEASE)
        start = bench.tracker.learned
        usual.append(_rms(bench_of("own", seed)))
        one = bench_of("own", seed)
        one.begin_from(start)
        again.append(_rms(one))
        first.append(start)
    assert sum(again) < sum(usual)
    assert all(replace(one, gain_sd=0.5) == one for one in first)


def _rms(bench):
    """Rms of the true load off its line over the first 40 s of the ramp, in psi."""
    squares, ticks = 0.0, 0
    while bench.start is None:
        bench.step()
    start_ns, start_psi = bench.start
    while bench.t_ns < start_ns + 40 * S:
        bench.step()
        line_psi = start_psi + 2000 / 60 * (bench.t_ns - start_ns) / S
        squares, ticks = squares + (bench.press.stress_psi - line_psi) ** 2, ticks + 1
    return math.sqrt(squares / ticks)
