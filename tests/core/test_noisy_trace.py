"""A recorded squeeze to 2000 psi, at 10 readings/s, with 24 spikes; beside it the true load."""

import csv
import functools
import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from ramphold.core import CueKind, Reading, RunPlan, StateChanged, Style, Tracker, WarningRaised
from ramphold.core._filters import SteadyLoad
from ramphold.core._strokes import Rises

TRACE = Path(__file__).parent.parent / "data" / "noisy-2000psi.csv"
PLAN = RunPlan(target_psi=2000.0, hold_s=20.0)
#: The load is off by noise and by the shake of a pumping hand, 1.6 psi rms; more is a spike.
SPIKE_PSI = 12.0


@functools.cache
def trace():
    """Times in ns, stresses as read, and true stresses."""
    lines = [line for line in TRACE.read_text().splitlines() if not line.startswith("#")]
    rows = [(float(r["t_s"]), float(r["force_lbf"]), float(r["true_lbf"])) for r in
            csv.DictReader(lines)]  # fmt: skip
    return (
        [round(t_s * 1e9) for t_s, _, _ in rows],
        [read_lbf / PLAN.area_in2 for _, read_lbf, _ in rows],
        [true_lbf / PLAN.area_in2 for _, _, true_lbf in rows],
    )


@functools.cache
def followed(*, truly=False):
    """Events of the run as read, or as it truly was, and a snapshot after each reading."""
    times_ns, read_psi, true_psi = trace()
    tracker, events, snapshots = Tracker(PLAN, t_ns=0), [], []
    for t_ns, psi in zip(times_ns, true_psi if truly else read_psi, strict=True):
        events += tracker.feed(Reading(t_ns=t_ns, force_lbf=psi * PLAN.area_in2))
        snapshots.append(tracker.snapshot())
    return events, snapshots


def spikes():
    _, read_psi, true_psi = trace()
    return [i for i, (a, b) in enumerate(zip(read_psi, true_psi, strict=True))
            if abs(a - b) > SPIKE_PSI]  # fmt: skip


def test_the_trace_has_single_and_double_spikes_far_over_every_limit():
    _, read_psi, _ = trace()
    assert len(spikes()) == 24
    assert sum(b - a == 1 for a, b in pairwise(spikes())) == 6
    assert max(read_psi) * PLAN.area_in2 > PLAN.rating_lbf * 0.9 > PLAN.ceiling_lbf


def test_the_steadied_load_is_the_true_one_at_its_own_time_whatever_the_spikes():
    times_ns, read_psi, true_psi = trace()
    at = dict(zip(times_ns, true_psi, strict=True))
    load, off = SteadyLoad(), []
    # Until the valve is opened: what falls faster than a press can pump is believed late.
    opened_ns = next(s.t_ns for s in followed()[1] if s.state == "release")
    for t_ns, psi in zip(times_ns, read_psi, strict=True):
        seen = load.feed(t_ns, psi)
        if seen is not None and t_ns <= opened_ns:
            assert t_ns - seen[0] in (100_000_000, 200_000_000, 300_000_000, 400_000_000)
            off.append(seen[1] - at[seen[0]])
    assert len(off) > 800
    assert max(map(abs, off)) < 5.0
    assert math.sqrt(sum(psi * psi for psi in off) / len(off)) < 1.2


def test_spikes_move_no_change_of_state_by_more_than_two_readings():
    read, truly = (
        [(e.after, e.since_ns) for e in followed(truly=truly)[0] if isinstance(e, StateChanged)]
        for truly in (False, True)
    )
    assert [after for after, _ in read] == ["seating", "ramp", "hold", "release", "complete"]
    for (after, read_ns), (truly_after, true_ns) in zip(read, truly, strict=True):
        assert after is truly_after
        assert abs(read_ns - true_ns) <= 200_000_000


def test_no_spike_raises_a_warning():
    assert [e for e in followed()[0] if isinstance(e, WarningRaised)] == []


def test_the_rate_is_that_of_numpys_line_through_ten_seconds_of_the_true_load():
    times_ns, _, true_psi = trace()
    t_s, psi = np.array(times_ns) / 1e9, np.array(true_psi)
    off = []
    for i, snapshot in enumerate(followed()[1]):
        if snapshot.state == "ramp" and i > 200:
            window = slice(i - 101, i)
            slope = np.polyfit(t_s[window], psi[window], 1)[0]
            off.append(snapshot.rate_psi_min - slope * 60)
    assert len(off) > 300
    # The study: 55 psi/min rms, which is 3 % of the plan, for the noise of such a sensor.
    assert math.sqrt(sum(x * x for x in off) / len(off)) < 55


def test_the_pulls_between_lever_returns_are_found_as_in_the_true_load():
    times_ns, read_psi, true_psi = trace()
    found = []
    for values in (read_psi, true_psi):
        load, rises, some = SteadyLoad(), Rises(), []
        for t_ns, psi in zip(times_ns, values, strict=True):
            seen = load.feed(t_ns, psi)
            some.append(rises.feed(*seen) if seen else None)
        found.append([rise for rise in some if rise and rise.after_psi - rise.before_psi > 50])
    read, truly = found
    # Noise may part an uneven pull into two; where the lever went back, all agree.
    assert len(truly) <= len(read) <= len(truly) + 1
    for rise in truly:
        (same,) = [one for one in read if abs(one.end_ns - rise.end_ns) <= 300_000_000]
        assert same.after_psi == pytest.approx(rise.after_psi, abs=5)


def test_the_cues_are_those_of_the_true_load_but_for_a_reading_here_and_there():
    read, truly = followed()[1], followed(truly=True)[1]
    pairs = [(a.cue and a.cue.kind, b.cue and b.cue.kind) for a, b in zip(read, truly, strict=True)]
    assert sum(a is b for a, b in pairs) > 0.95 * len(pairs)


def test_the_hold_was_cued_to_within_a_second_of_its_planned_time_on_the_true_load():
    times_ns, _, true_psi = trace()
    inside = [t_ns for t_ns, psi in zip(times_ns, true_psi, strict=True) if 1960 <= psi <= 2040]
    begun_ns = next(t_ns for t_ns, psi in zip(times_ns, true_psi, strict=True) if psi >= 1980)
    assert (inside[-1] - begun_ns) / 1e9 == pytest.approx(20.0, abs=1.0)


def test_a_hand_that_squeezed_is_never_taken_for_one_that_strokes():
    assert Style.STROKES not in {snapshot.suggested_style for snapshot in followed()[1]}
    assert CueKind.STROKE not in {snapshot.cue.kind for snapshot in followed()[1] if snapshot.cue}
