"""A rise that nobody called for, or that began before its call, teaches nothing of strokes."""

import pytest

from ramphold.core import CueKind, RunPlan, RunState, Style
from ramphold.core._accounts import RampAccount
from ramphold.core._pacing import Pacer

PLAN = RunPlan(target_psi=4000.0)


class Load:
    """A load at 10 readings/s, behind a ramp line that has reached the target."""

    def __init__(self, *, style, psi=3000.0, plan=PLAN):
        self.pacer = Pacer(plan)
        self.pacer.style = style
        self.ramp = RampAccount(plan, 0, 100.0)
        self.t_ns, self.psi = 120_000_000_000, psi

    def go(self, readings, by_psi):
        """So many readings, each `by_psi` above the one before; the cues they gave."""
        cues = []
        for _ in range(readings):
            self.t_ns += 100_000_000
            self.psi += by_psi
            self.pacer.feed(self.t_ns, self.psi, RunState.RAMP, ramp=self.ramp)
            cues.append(self.pacer.cue)
        return cues

    def wait_for_a_call(self):
        """Rest until a stroke is called."""
        while self.pacer.cue is None or self.pacer.cue.kind is not CueKind.STROKE:
            self.go(1, -0.8)

    @property
    def gain_psi(self):
        return self.pacer._stroking._learned.gain_psi(3000.0)


def kinds(cues):
    return {cue.kind for cue in cues if cue is not None}


def test_no_stroke_is_called_while_the_load_still_rises():
    load = Load(style=Style.SQUEEZE)
    load.go(20, -0.8)
    load.go(10, 30.0)
    load.pacer.style = Style.STROKES
    assert kinds(load.go(5, 30.0)) == {CueKind.WAIT}
    assert CueKind.STROKE in kinds(load.go(8, -0.8))


def test_the_countdown_says_that_the_rise_has_to_end_first():
    load = Load(style=Style.SQUEEZE)
    load.go(20, -0.8)
    load.go(10, 30.0)
    load.pacer.style = Style.STROKES
    assert all(cue.due_s == pytest.approx(0.3) for cue in load.go(5, 30.0))


def test_a_pull_that_was_under_way_when_strokes_were_chosen_teaches_no_gain():
    load = Load(style=Style.SQUEEZE)
    load.go(20, -0.8)
    load.go(10, 60.0)
    before = load.gain_psi
    load.pacer.style = Style.STROKES
    load.go(5, 60.0)
    load.go(8, -0.8)
    # The lever's travel, found to be longer than thought, may teach 5 %; the pull itself nothing.
    assert load.gain_psi == pytest.approx(before, rel=0.06)


def test_a_stroke_under_way_when_it_is_called_anew_teaches_nothing():
    # To so high a target one stroke in vain is not yet the last.
    load = Load(style=Style.STROKES, psi=2000.0, plan=RunPlan(target_psi=12_000.0))
    load.wait_for_a_call()
    called_ns = load.t_ns
    before = load.gain_psi
    # 1.5 s after it a call is made anew, which is when the stroke has just begun.
    load.go(14, -0.8)
    assert load.t_ns == called_ns + 1_400_000_000
    load.go(3, 8.0)
    load.go(8, -0.8)
    assert load.gain_psi == before


def test_a_stroke_made_as_called_does_teach_its_gain():
    load = Load(style=Style.STROKES)
    load.wait_for_a_call()
    before = load.gain_psi
    load.go(3, -0.8)
    load.go(4, 80.0)
    load.go(8, -0.8)
    assert load.gain_psi > 1.1 * before
