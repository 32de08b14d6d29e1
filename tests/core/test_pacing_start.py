"""What a complete run hands on, what can be true of it, and what the next run starts from."""

from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.core import (
    CueKind,
    EndRun,
    HandLearned,
    PacingStart,
    RunPlan,
    RunState,
    Style,
    Tracker,
    check_pacing_start,
    coarse_below_psi,
    coarse_step_pct,
    pacing_start,
)
from ramphold.core._pacing_start import CueCount
from ramphold.errors import PlanError
from ramphold.testing.runs import GOOD_RUN, drawn

NAMES = [one.name for one in fields(PacingStart)]
HAND = PacingStart(gain_factor=1.2, gain_sd=0.2, delay_s=0.5)
TRIAL = PacingStart(gain_factor=0.8, gain_sd=0.15)


def learned(corners=GOOD_RUN, end=None, **plan):
    tracker, found = Tracker(RunPlan(target_psi=4000.0, **plan), t_ns=0), []
    for reading in drawn(corners):
        found += tracker.feed(reading)
    if end is not None:
        found += tracker.command(EndRun(reason=end), tracker.snapshot().t_ns)
    return tracker, [event for event in found if isinstance(event, HandLearned)]


def test_a_complete_run_says_once_what_it_taught():
    tracker, (said,) = learned()
    assert tracker.state is RunState.COMPLETE
    assert said.start == tracker.learned
    assert said.cues > 0


def test_a_run_that_was_ended_in_its_ramp_teaches_nothing():
    tracker, said = learned([corner for corner in GOOD_RUN if corner[0] < 100], end="spilt")
    assert tracker.state is RunState.STOPPED
    assert said == []


def test_a_slip_is_too_coarse_under_the_target_that_a_trial_names_for_it():
    pump = PacingStart(gain_factor=3.0, gain_sd=0.1)
    limit_psi = coarse_below_psi(pump)
    assert coarse_step_pct(pump, Style.SQUEEZE, 1.01 * limit_psi) is None
    assert coarse_step_pct(pump, Style.SQUEEZE, 0.99 * limit_psi) == pytest.approx(1.0, abs=0.02)


def test_the_smallest_stroke_may_fill_two_percent_and_no_more():
    usual = PacingStart(gain_sd=0.1)
    assert coarse_step_pct(usual, Style.STROKES, 4000.0) is None
    assert coarse_step_pct(usual, Style.STROKES, 2000.0) > 2.0
    assert coarse_step_pct(usual, Style.SQUEEZE, 2000.0) is None


def test_of_a_press_that_nobody_tried_nothing_is_said():
    assert coarse_step_pct(PacingStart(gain_factor=10.0), Style.STROKES, 2000.0) is None


def test_a_recording_whose_cues_nobody_saw_teaches_nothing():
    assert learned(cued=False)[1] == []


def test_a_load_that_jumped_as_no_press_can_teaches_nothing():
    jumped = [(0, 0), (60, 2000), (60.1, 2900), (95, 4000), (225, 4000), (226, 0), (228, 0)]
    tracker, said = learned(jumped)
    assert tracker.state is RunState.COMPLETE
    assert said == []


@settings(deadline=None, max_examples=200)
@given(st.tuples(*[st.floats(min_value=-1e12, max_value=1e12)] * len(NAMES)))
def test_whatever_a_run_starts_from_it_hands_on_only_what_can_be(values):
    start = PacingStart(**dict(zip(NAMES, values, strict=True)))
    check_pacing_start(Tracker(RunPlan(target_psi=4000.0, pacing=start), t_ns=0).learned)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("value", [-1e6, 1e6, float("nan"), float("inf")])
def test_a_value_that_no_press_and_no_hand_has_is_named(name, value):
    with pytest.raises(PlanError, match=rf"^{name} is .*: expected -?[\d.]+ to [\d.]+$"):
        check_pacing_start(replace(PacingStart(), **{name: value}))


def test_without_hand_and_trial_a_run_starts_from_a_usual_press():
    assert pacing_start(None, None, trial_is_newer=False) == PacingStart()
    assert pacing_start(None, TRIAL, trial_is_newer=True) == TRIAL
    assert pacing_start(HAND, None, trial_is_newer=False) == HAND


@pytest.mark.parametrize(
    ("trial_sd", "trial_is_newer", "gain_factor"),
    [(0.15, False, 0.8), (0.3, False, 1.2), (0.3, True, 0.8)],
)
def test_the_gain_is_the_newer_trials_or_that_which_is_surer_and_the_rest_the_hands(
    trial_sd, trial_is_newer, gain_factor
):
    trial = replace(TRIAL, gain_sd=trial_sd)
    start = pacing_start(HAND, trial, trial_is_newer=trial_is_newer)
    assert start.gain_factor == gain_factor
    assert start.gain_sd == (trial_sd if gain_factor == trial.gain_factor else HAND.gain_sd)
    assert start.delay_s == HAND.delay_s


def test_a_cue_said_again_counts_once_however_often_its_words_change():
    count = CueCount()
    for kind in (
        CueKind.WAIT, CueKind.SQUEEZE, CueKind.PULL_ON, CueKind.SQUEEZE, CueKind.PULL_ON,
        CueKind.SQUEEZE, CueKind.RETURN_LEVER, CueKind.SQUEEZE, CueKind.STOP, CueKind.HANDS_OFF,
        CueKind.STOP, CueKind.WAIT, CueKind.TOP_UP, CueKind.STOP, CueKind.WAIT,
    ):  # fmt: skip
        count.feed(kind)
    # Squeeze twice, stop twice, one top-up; one squeeze and one stop were said again.
    assert (count.cues, count.said_again) == (5, 2)
