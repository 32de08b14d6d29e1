"""Whatever the readings and the plan: no cue to pump a load that is, or will be, over the ceiling.

The load is told here from the raw readings alone, without the pacing's own filter.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.core import (
    ChooseStyle,
    CueKind,
    PacingStart,
    Quality,
    Reading,
    RunPlan,
    RunState,
    Style,
    Tracker,
    WarningKind,
)
from ramphold.core._accounts import RampAccount
from ramphold.core._pacing import Pacer

S = 1_000_000_000
PUMPING = (CueKind.STROKE, CueKind.SQUEEZE, CueKind.PULL_ON, CueKind.TOP_UP)

plans = st.builds(
    lambda target_psi, over, **how: RunPlan(
        target_psi=target_psi, ceiling_lbf=target_psi * over * math.pi, **how
    ),
    target_psi=st.sampled_from([2000.0, 4000.0, 12_000.0]),
    over=st.sampled_from([1.0, 1.001, 1.02, 1.05]),
    style=st.sampled_from(list(Style)),
    rate_psi_min=st.sampled_from([500.0, 2000.0, 8000.0]),
    pacing=st.builds(
        PacingStart,
        gain_factor=st.sampled_from([0.1, 1.0, 10.0]),
        scatter=st.sampled_from([0.5, 1.0, 2.0]),
        sag_per_s=st.sampled_from([0.0, 0.003, 0.02]),
        delay_s=st.sampled_from([0.05, 0.3, 0.9]),
    ),
)
# How a stretch of the load ends, as a share of the target, how long it takes, and how it is read.
levels = st.one_of(
    st.floats(-0.1, 1.3), st.floats(0.97, 1.03), st.sampled_from([0.0, 0.95, 0.99, 1.0, 1.02])
)
stretches = st.tuples(levels, st.sampled_from([0, 0.3, 1, 5, 20]), st.sampled_from([2, 10, 80]))
wilds = st.lists(
    st.tuples(
        st.integers(0, 400),
        st.one_of(st.floats(allow_nan=True, allow_infinity=True), st.floats(-1e5, 1e5)),
        st.sampled_from(list(Quality)),
    ),
    max_size=12,
)
gaps = st.dictionaries(st.integers(0, 400), st.sampled_from([0.6, 1.5, 60.0]), max_size=3)


def readings(plan, drawn, wild, gap_s):
    """Straight stretches of load, with gaps, and some readings that say something else."""
    said = {at: (force_lbf, quality) for at, force_lbf, quality in wild}
    t_ns, psi, i = 0, 0.0, 0
    for share, lasts_s, per_s in drawn:
        steps = min(max(round(lasts_s * per_s), 1), 60)
        start_psi, end_psi = psi, share * plan.target_psi
        for step in range(1, steps + 1):
            t_ns += round(S / per_s + gap_s.get(i, 0.0) * S)
            psi = start_psi + (end_psi - start_psi) * step / steps
            force_lbf, quality = said.get(i, (psi * plan.area_in2, Quality.GOOD))
            yield Reading(t_ns=t_ns, force_lbf=force_lbf, quality=quality)
            i += 1


def judge(tracker, reading):
    """What must hold of the cue after any reading."""
    plan, cue = tracker.plan, tracker.snapshot().cue
    if cue is None:
        return
    assert cue.due_s is None or 0 <= cue.due_s < math.inf
    # A reading without a number ends no cue; half a second of them makes the load stale.
    assert reading.t_ns - cue.t_ns <= (S if reading.usable else S + S // 2)
    if cue.kind in PUMPING:
        assert math.isfinite(cue.after_psi)
        assert cue.after_psi * plan.area_in2 <= plan.ceiling_lbf * (1 + 1e-9)
    if cue.kind is CueKind.STROKE:
        assert 0 < cue.size <= 1
        assert not cue.near_ceiling


@pytest.mark.slow
@settings(max_examples=150)
@given(plans, st.lists(stretches, max_size=12), wilds, gaps, st.integers(0, 300))
def test_whatever_plan_and_readings_no_cue_to_pump_crosses_the_ceiling_or_outlives_its_load(
    plan, drawn, wild, gap_s, changes_at
):
    tracker = Tracker(plan, t_ns=0)
    for i, reading in enumerate(readings(plan, drawn, wild, gap_s)):
        tracker.feed(reading)
        judge(tracker, reading)
        if i == changes_at and not tracker.ended:
            other = Style.STROKES if plan.style is Style.SQUEEZE else Style.SQUEEZE
            tracker.command(ChooseStyle(style=other), reading.t_ns)


@pytest.mark.slow
@settings(max_examples=150)
@given(
    plans, st.lists(stretches, max_size=8), wilds, st.floats(1.0005, 1.5), st.sampled_from([10, 80])
)
def test_whatever_went_before_five_readings_over_the_ceiling_end_every_cue_to_pump(
    plan, drawn, wild, over, per_s
):
    tracker, t_ns = Tracker(plan, t_ns=0), 0
    for reading in readings(plan, drawn, wild, {}):
        tracker.feed(reading)
        t_ns = reading.t_ns
    for count in range(1, 6):
        t_ns += S // per_s
        tracker.feed(Reading(t_ns=t_ns, force_lbf=plan.ceiling_lbf * over))
        warned = {warning.kind for warning in tracker.snapshot().warnings}
        # The warning takes the cue's place two readings before the filter is through.
        assert count < 3 or WarningKind.OVER_CEILING in warned
    cue = tracker.snapshot().cue
    assert cue is None or cue.kind not in PUMPING


def test_a_load_far_below_zero_breaks_no_countdown():
    # The sag of this load is as fast as the line climbs: 0.003/s of 11 111.1 psi is 33.3 psi/s.
    plan = RunPlan(target_psi=4000.0, style=Style.STROKES)
    load_psi = -11_111.111111111111
    assert 0.003 * load_psi == -2000 / 60
    pacer, ramp = Pacer(plan), RampAccount(plan, 0, 100.0)
    for i in range(10):
        pacer.feed(i * S // 10, load_psi, RunState.RAMP, ramp=ramp)
    assert pacer.cue.due_s == 0


def test_a_hold_that_ran_out_unseen_is_counted_down_to_nothing_and_not_beyond():
    # Readings just as far apart as makes a load stale: the tracker's median begins anew, so the
    # run is still held when the pacing knows the load again.
    plan = RunPlan(target_psi=4000.0, hold_s=5)
    tracker = Tracker(plan, t_ns=0)
    times_ns = [i * S // 10 for i in range(20)] + [9 * S, 9_100_000_000, 9_600_000_000]
    for t_ns in times_ns:
        tracker.feed(Reading(t_ns=t_ns, force_lbf=plan.target_lbf))
    assert tracker.state is RunState.HOLD
    assert tracker.snapshot().cue.due_s == 0


def test_a_cue_from_before_a_gap_is_not_given_after_it():
    plan = RunPlan(target_psi=4000.0)
    tracker = Tracker(plan, t_ns=0)
    for i in range(100):
        tracker.feed(Reading(t_ns=i * S // 10, force_lbf=i * 3.33 * plan.area_in2))
    assert tracker.snapshot().cue is not None
    cues = []
    for t_ns in (13 * S, 13_100_000_000, 13_200_000_000):
        tracker.feed(Reading(t_ns=t_ns, force_lbf=4100 * plan.area_in2))
        cues.append(tracker.snapshot().cue)
    assert cues[:2] == [None, None]
    assert cues[2].load_psi == pytest.approx(4100)


def test_a_cue_outlives_a_spike_of_two_readings():
    plan = RunPlan(target_psi=4000.0)
    tracker = Tracker(plan, t_ns=0)
    for i in range(100):
        tracker.feed(Reading(t_ns=i * S // 10, force_lbf=i * 3.33 * plan.area_in2))
    before = tracker.snapshot().cue
    for t_ns in (10 * S, 10_100_000_000):
        tracker.feed(Reading(t_ns=t_ns, force_lbf=-20_000.0))
    assert tracker.snapshot().cue == before
