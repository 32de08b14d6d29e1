"""A run's load as few points for a screen: every spike, its line, its band, its limits."""

import math

import pytest

from ramphold.core import Reading, RunPlan, RunState
from ramphold.core.trace import Trace
from ramphold.daemon._run_trace import run_trace
from ramphold.testing.runs import GOOD_RUN, drawn, fed, with_force
from ramphold.wire import RunRecord

PLAN = RunPlan(target_psi=4000)
RUN = RunRecord(
    id=7, specimen=1, operator="ab", plan=PLAN, state=RunState.READY, reason="",
    started_t_ns=0, started_utc_ns=0, ended_t_ns=None, ended_utc_ns=None, assessment=None,
)  # fmt: skip


def traced(readings, most=1000):
    _, events = fed(PLAN, readings)
    return run_trace(RUN, Trace.of(readings), events, most)


def test_time_counts_from_the_reading_that_began_the_ramp():
    # 100 psi are reached 1 s + 100/4000 of 120 s = 4.0 s after the start of the drawn run.
    trace = traced(drawn(GOOD_RUN))
    began = {state: t_s for t_s, state in trace.states}
    assert began["ramp"] == 0.0
    assert trace.load_psi[0][0] == (pytest.approx(-4.0, abs=0.11), 0.0)
    # 99 % of the target is reached 118.8 s into a ramp of 120 s.
    assert began["hold"] == pytest.approx(118.8 - 3.0, abs=0.2)
    assert trace.state == "complete"


def test_the_line_climbs_at_the_planned_rate_and_lasts_to_the_planned_end_of_the_hold():
    trace = traced(drawn(GOOD_RUN))
    (start_s, start_psi), (up_s, up_psi), (end_s, end_psi) = trace.line_psi
    assert start_s == 0.0
    assert (up_psi - start_psi) / (up_s - start_s) * 60 == pytest.approx(2000)
    assert (up_psi, end_psi) == (4000, 4000)
    assert end_s == trace.hold_s[1] == pytest.approx(trace.hold_s[0] + 120)


def test_band_ceiling_and_rating_are_those_of_the_plan():
    trace = traced(drawn(GOOD_RUN))
    assert trace.band_psi == (3920, 4080)  # 2 % of 4000 psi
    # A 2-inch bore has pi square inches; the demo's ceiling for 4000 psi is 12 800 lbf.
    assert trace.area_in2 == pytest.approx(math.pi)
    assert trace.ceiling_psi == pytest.approx(12_800 / math.pi)
    assert trace.rating_psi == pytest.approx(15_000)


@pytest.mark.slow
def test_a_spike_of_one_reading_in_a_long_run_is_among_few_points():
    readings = with_force(drawn(GOOD_RUN, per_s=40), 5_432, 20_000.0)
    (line,) = traced(readings, most=100).load_psi
    assert len(line) <= 100
    assert max(psi for _, psi in line) == pytest.approx(20_000 / math.pi, abs=0.01)


def test_a_reading_without_a_number_breaks_the_load():
    first, second = traced(with_force(drawn(GOOD_RUN), 600, math.nan)).load_psi
    assert second[0][0] - first[-1][0] == pytest.approx(0.2)


def test_more_breaks_than_points_are_passed_over():
    readings = [
        Reading(t_ns=step * 10**8, force_lbf=math.nan if step % 2 else 9.0) for step in range(500)
    ]
    (line,) = traced(readings, most=20).load_psi
    assert len(line) <= 20


def test_before_the_ramp_time_counts_from_the_start_and_there_is_no_line():
    trace = traced(drawn([(0, 0), (5, 0)]))
    assert (trace.line_psi, trace.hold_s, trace.states) == ((), None, ())
    assert trace.state == "ready"
    assert trace.load_psi[0][0][0] == 0.0
    assert traced([]).load_psi == ()
