"""Whatever the readings: no cue to pump that is expected to cross the ceiling, and no crash."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.core import CueKind, Quality, Reading, RunPlan, Style, Tracker
from ramphold.core._warnings import WarningKind, WarningRaised

PUMPING = (CueKind.STROKE, CueKind.SQUEEZE, CueKind.PULL_ON, CueKind.TOP_UP)

# After a climb, moves in psi from the last load: rests, sags, pulls, strokes, falls and worse.
MOVES = st.tuples(
    st.sampled_from([12_500_000, 100_000_000, 2_000_000_000]),
    st.integers(1, 12),
    st.floats(-15.0, 15.0) | st.floats(-150.0, 200.0) | st.floats(-4000.0, 4000.0),
)
WILD = st.sampled_from([math.nan, math.inf, -math.inf, 1e300, 60_000.0, -60_000.0])


@pytest.mark.slow
@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(list(Style)),
    st.sampled_from([4000.0, 4020.0, 4080.0]),
    st.floats(0.9, 1.01),
    st.lists(MOVES, max_size=25),
    st.lists(st.tuples(st.integers(0, 200), WILD), max_size=5),
)
def test_whatever_the_readings_no_pumping_is_cued_that_should_cross_the_ceiling(
    style, ceiling_psi, reached, moves, wild
):
    plan = RunPlan(target_psi=4000.0, style=style, ceiling_lbf=ceiling_psi * math.pi)
    # Along the line of 2000 psi/min in few readings; then a return of the lever, and an approach.
    climb = [(900_000_000, 30.0 * i) for i in range(120)]
    climb += [(100_000_000, 3570.0 - i) for i in range(15)]
    climb += [(100_000_000, 3556.0 + 4 * i) for i in range(round((reached * 4000 - 3556) / 4))]
    path, psi = climb, climb[-1][1]
    for every_ns, times, by_psi in moves:
        for _ in range(times):
            psi += by_psi
            path.append((every_ns, psi))
    replaced = {len(climb) - 10 + at: load_lbf for at, load_lbf in wild}
    tracker, t_ns = Tracker(plan, t_ns=0), 0
    for i, (every_ns, at_psi) in enumerate(path):
        t_ns += every_ns
        load_lbf = replaced.get(i, at_psi * math.pi)
        tracker.feed(Reading(t_ns=t_ns, force_lbf=load_lbf))
        cue = tracker.snapshot().cue
        if cue is not None and cue.kind in PUMPING:
            assert cue.after_psi is not None
            assert cue.after_psi * plan.area_in2 <= plan.ceiling_lbf * (1 + 1e-9)


@pytest.mark.parametrize("style", list(Style))
def test_a_load_stepped_over_the_ceiling_in_mid_ramp_stops_every_cue_to_pump(style):
    plan = RunPlan(target_psi=4000.0, style=style)
    tracker = Tracker(plan, t_ns=0)
    loads = [0.0] * 5 + [150.0 + 10.5 * i for i in range(300)] + [13_200.0] * 10
    events = []
    for i, load_lbf in enumerate(loads):
        events += tracker.feed(Reading(t_ns=i * 100_000_000, force_lbf=load_lbf))
    warned = [e for e in events if isinstance(e, WarningRaised)]
    assert [(e.kind, e.t_ns) for e in warned if e.kind.latched] == [
        (WarningKind.JUMPED, 30_700_000_000),
        (WarningKind.OVER_CEILING, 30_700_000_000),
    ]
    cue = tracker.snapshot().cue
    assert cue is None or cue.kind not in PUMPING


@pytest.mark.parametrize("quality", [Quality.SATURATED, Quality.FAULT, Quality.GARBLED])
def test_readings_without_a_number_change_no_cue(quality):
    tracker = Tracker(RunPlan(target_psi=4000.0), t_ns=0)
    for i in range(100):
        tracker.feed(Reading(t_ns=i * 100_000_000, force_lbf=100.0 + 10.0 * i))
    before = tracker.snapshot().cue
    tracker.feed(Reading(t_ns=10_000_000_000, force_lbf=math.nan, quality=quality))
    assert tracker.snapshot().cue == before
