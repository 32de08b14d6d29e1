"""Squeeze style, by literal loads at 10 readings/s and 33.3 psi/s."""

import pytest

from ramphold.core import CueKind, PacingStart, RunPlan, RunState, Style
from ramphold.core._accounts import HoldAccount, RampAccount
from ramphold.core._pacing import Pacer

R = 2000 / 60
AIM = 4012.0


class Run:
    """Feeds a pacer straight pieces of load; knows what a tracker would tell it."""

    def __init__(self, **plan):
        self.plan = RunPlan(target_psi=4000.0, **plan)
        self.pacer = Pacer(self.plan)
        self.ramp = RampAccount(self.plan, 0, 100.0)
        self.hold = None
        self.t_s = 0.0
        self.psi = 100.0

    def go(self, lasting_s, to_psi, state=RunState.RAMP):
        """Load goes straight to `to_psi`; the cues given on the way."""
        cues, start_psi, steps = [], self.psi, round(lasting_s * 10)
        for i in range(1, steps + 1):
            self.t_s = round(self.t_s + 0.1, 1)
            self.psi = start_psi + (to_psi - start_psi) * i / steps
            self.pacer.feed(round(self.t_s * 1e9), self.psi, state, ramp=self.ramp, hold=self.hold)
            cues.append(self.pacer.cue)
        return cues

    def climb(self, to_psi):
        """Along the line, exactly."""
        return self.go((to_psi - 100) / R - self.t_s, to_psi)

    def arrive(self):
        """At the target, with the hold begun."""
        self.climb(4000.0)
        self.hold = HoldAccount(self.plan, round(self.t_s * 1e9), 4000.0)
        self.go(1.0, 4014.0, RunState.HOLD)

    def kinds(self, cues):
        """Kinds of cue in order, each named once."""
        named = [cue.kind for cue in cues if cue]
        return [kind for i, kind in enumerate(named) if i == 0 or kind is not named[i - 1]]


def first(kind, cues):
    return next(cue for cue in cues if cue and cue.kind is kind)


def test_on_the_line_load_and_mark_are_where_they_will_be_when_the_hand_has_answered():
    run = Run(pacing=PacingStart(delay_s=0.3))
    cue = run.climb(300.0)[-1]
    assert cue.kind is CueKind.SQUEEZE
    # The mark is 20 psi further, for the hand that started from rest.
    assert cue.mark_psi == pytest.approx(300 + R * 0.3 + 20, abs=2)
    assert cue.load_psi == pytest.approx(300 + R * 0.3, abs=2)


def test_the_mark_of_a_hand_that_lags_moves_ahead_of_the_line():
    run = Run()
    run.go(1.0, 100.0)
    cue = run.go(10.0, 100.0 + R * 10.0)[-1]
    line_psi = run.ramp.line_psi(round(run.t_s * 1e9))
    assert line_psi - run.psi == pytest.approx(R, rel=0.01)
    assert cue.mark_psi == pytest.approx(line_psi + R * 0.3 + 30.0, abs=1)


def test_a_load_far_ahead_of_the_line_is_told_by_the_bar():
    run = Run()
    cue = run.go(5.0, 600.0)[-1]
    assert cue.load_psi - cue.mark_psi > 300


def test_stop_comes_before_the_target_by_what_display_and_hand_still_add():
    run = Run(pacing=PacingStart(delay_s=0.3))
    cues = run.climb(4012.0)
    told = first(CueKind.STOP, cues)
    load_then_psi = run.ramp.line_psi(told.t_ns)
    assert load_then_psi + R * 0.3 == pytest.approx(AIM, abs=R * 0.15)
    assert AIM <= told.after_psi < run.plan.ceiling_lbf / run.plan.area_in2


def test_a_hand_slow_to_stop_is_told_earlier_the_next_time():
    run = Run(pacing=PacingStart(delay_s=0.3))
    run.arrive()
    told_after_s = []
    for _ in range(10):
        run.go(4.0, 3980.0, RunState.HOLD)
        begun_s = run.t_s
        cues = run.go(1.5, 4030.0, RunState.HOLD)
        told_after_s.append(first(CueKind.STOP, cues).t_ns / 1e9 - begun_s)
        run.go(0.8, 4029.0, RunState.HOLD)
    assert told_after_s[-1] < told_after_s[0]


def test_the_top_up_is_called_before_the_load_leaves_one_percent():
    run = Run()
    run.arrive()
    cues = run.go(40.0, 3970.0, RunState.HOLD)
    assert run.kinds(cues)[-2:] == [CueKind.WAIT, CueKind.TOP_UP]
    called = first(CueKind.TOP_UP, cues)
    assert 3985 < called.load_psi < 3993


def test_in_the_last_seconds_of_the_hold_only_a_load_about_to_leave_the_band_is_topped_up():
    run = Run()
    run.arrive()
    run.go(117.0, 4003.0, RunState.HOLD)
    assert CueKind.TOP_UP not in run.kinds(run.go(1.8, 3975.0, RunState.HOLD))
    assert run.go(0.4, 3930.0, RunState.HOLD)[-1].kind is CueKind.TOP_UP


def test_the_end_of_the_hold_is_counted_down_and_then_release_is_said():
    run = Run()
    run.arrive()
    run.go(114.9, 4005.0, RunState.HOLD)
    cue = run.go(1.0, 4005.0, RunState.HOLD)[-1]
    assert (cue.kind, cue.due_s) == (CueKind.WAIT, pytest.approx(3.1))
    assert run.go(0.1, 4005.0, RunState.RELEASE)[-1].kind is CueKind.RELEASE


def test_the_lever_goes_back_while_seating_where_it_costs_nothing():
    run = Run()
    run.ramp = None
    run.psi = 0.0
    run.go(1.0, 5.0, RunState.READY)
    assert run.go(0.3, 40.0, RunState.SEATING)[-1].kind is CueKind.RETURN_LEVER
    assert run.go(3.0, 38.0, RunState.SEATING)[-1].kind is CueKind.SQUEEZE


def test_the_lever_goes_back_when_its_travel_is_nearly_used():
    run = Run()
    cues = run.climb(900.0)
    told = first(CueKind.RETURN_LEVER, cues)
    # By the usual gain a full stroke from 100 psi ends near 520 psi.
    assert 350 < told.load_psi < 600


def test_after_the_return_the_pull_goes_on():
    run = Run()
    cues = run.climb(900.0)
    returned_psi = first(CueKind.RETURN_LEVER, cues).load_psi
    run = Run()
    run.climb(returned_psi)
    run.go(1.2, run.psi - 15.0)
    assert run.go(1.0, run.psi + 50.0)[-1].kind is CueKind.SQUEEZE


def test_the_lever_goes_back_before_the_approach_so_that_it_lasts_into_the_hold():
    run = Run()
    for _ in range(9):
        to_psi = min(run.psi + 400.0, 3500.0)
        run.climb(to_psi)
        run.go(1.2, run.psi - 10.0)
    assert CueKind.RETURN_LEVER in run.kinds(run.climb(3950.0))


def test_a_hand_that_returns_the_lever_early_of_itself_teaches_a_smaller_gain():
    run = Run()
    gain_psi = run.pacer._squeeze._learned.gain_psi
    before = gain_psi(2000.0)
    for _ in range(6):
        run.go(7.0, run.psi + 7 * R)
        run.go(1.3, run.psi - 10.0)
    assert gain_psi(2000.0) < 0.8 * before


def test_a_pull_that_would_run_over_the_ceiling_is_stopped_as_near_ceiling():
    run = Run()
    run.climb(3700.0)
    cue = run.go(1.0, 4000.0)[-1]
    assert cue.kind is CueKind.STOP
    assert cue.near_ceiling


def test_an_operator_who_overshoots_is_told_to_wait_until_the_load_is_back():
    run = Run()
    run.climb(3900.0)
    run.go(1.0, 4150.0)
    assert run.kinds(run.go(20.0, 4060.0, RunState.HOLD))[-1] is CueKind.WAIT


def test_a_load_falling_fast_is_not_topped_up_while_it_is_over_the_aim():
    run = Run()
    run.arrive()
    run.go(1.0, 4200.0, RunState.HOLD)
    cues = run.go(0.8, 4040.0, RunState.HOLD)
    assert min(cue.load_psi for cue in cues) < 3990
    assert CueKind.TOP_UP not in run.kinds(cues)


def test_an_operator_who_rests_for_a_minute_is_told_to_pull_on():
    run = Run()
    run.climb(2000.0)
    cues = run.go(60.0, 1960.0)
    assert cues[-1].kind is CueKind.SQUEEZE
    assert cues[-1].mark_psi - cues[-1].load_psi > 1900


def test_after_a_release_that_stopped_the_run_there_is_no_cue():
    run = Run()
    run.climb(2000.0)
    run.go(0.5, 100.0)
    assert run.go(0.1, 50.0, RunState.STOPPED) == [None]


def test_the_rate_of_a_ramp_on_the_line_is_the_planned_one():
    run = Run()
    run.climb(1500.0)
    assert run.pacer.rate_psi_min == pytest.approx(2000.0, rel=1e-6)


def test_a_long_pull_suggests_the_squeeze_and_short_steps_suggest_strokes():
    squeezed, stroked = Run(style=Style.STROKES), Run()
    for _ in range(5):
        squeezed.go(6.0, squeezed.psi + 6 * R)
        squeezed.go(1.2, squeezed.psi - 10.0)
        stroked.go(0.3, stroked.psi + 120.0)
        stroked.go(3.3, stroked.psi - 10.0)
    assert squeezed.pacer.suggested_style is Style.SQUEEZE
    assert stroked.pacer.suggested_style is Style.STROKES
