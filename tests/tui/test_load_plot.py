import pytest
from msgspec.structs import replace

from ramphold.core import RunPlan, RunState, Tracker
from ramphold.core.trace import Trace
from ramphold.daemon._run_trace import run_trace
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.curve_plot import CurveKind
from ramphold_tui.view.load_history import LoadHistory
from ramphold_tui.view.load_plot import live_plot, past_hold_plot, past_run_plot

PLAN = RunPlan(target_psi=4000.0)


def known(bench, t_s):
    """What the screen knows, and the trail it has, when the run has come to a time."""
    history, step = LoadHistory(), 0.0
    while step < t_s:
        step += 0.1
        bench.feed_until(step)
        history.add(bench.live())
    return BenchState(live=bench.live(), heard_ns=0, record=bench.record()), history


def curve(shown, kind):
    return next(curve for curve in shown.curves if curve.kind is kind)


def test_the_trail_follows_the_load_from_the_ramps_beginning(bench):
    _, history = known(bench, 61)
    points = history.points()
    # Every half second of the 56.9 s since 100 psi was crossed, 4 s after the start.
    assert len(points) == pytest.approx(2 * 56.9, abs=1)
    # 2000 psi/min, and the half second in between.
    t_s, low_psi, high_psi = points[60]
    assert low_psi == pytest.approx(100 + t_s * 2000 / 60, abs=15)
    assert high_psi - low_psi == pytest.approx(0.4 * 2000 / 60, abs=1)


def test_another_run_begins_another_trail(bench):
    _, history = known(bench, 61)
    history.add(replace(bench.live(), run=8))
    assert len(history.points()) == 1


def test_a_run_that_has_ended_keeps_its_trail(bench):
    shown, history = known(bench, 245)
    before = len(history.points())
    history.add(shown.live)
    assert shown.live.run is None
    assert len(history.points()) == before > 400


def test_a_load_that_is_unknown_leaves_no_trail(bench):
    bench.feed_until(60)
    live = bench.live()
    history = LoadHistory()
    history.add(replace(live, snapshot=replace(live.snapshot, stale=True)))
    history.add(replace(live, snapshot=None))
    assert history.points() == []


def test_the_whole_run_is_in_sight_with_line_and_ceiling(bench):
    shown, history = known(bench, 61)
    drawn = live_plot(shown, history.points())
    # 3900 psi at 2000 psi/min are 117 s, the hold is 120 s; then room for the release.
    assert drawn.area.end_s == pytest.approx(117 + 120 + 15)
    assert curve(drawn, CurveKind.LINE).points[1][:2] == pytest.approx((117.0, 4000.0))
    # The ceiling of 12 800 lbf [recomputed in the trade's table: 4000 psi] is 4074 psi.
    assert curve(drawn, CurveKind.LIMIT).points[0][1] == pytest.approx(4074.4, abs=0.1)
    assert drawn.levels == ((4000.0, "4 000"),)


def test_in_the_hold_the_band_is_in_sight_from_near(bench):
    shown, history = known(bench, 150)
    assert shown.snapshot.state is RunState.HOLD
    drawn = live_plot(shown, history.points())
    assert (drawn.area.low_psi, drawn.area.high_psi) == (3840.0, 4160.0)
    assert drawn.area.end_s - drawn.area.start_s == pytest.approx(130.0)
    assert [text for _, text in drawn.levels] == ["3 920", "4 080"]


def test_without_a_plan_there_is_no_picture(bench):
    bench.feed_until(60)
    assert live_plot(BenchState(live=bench.live()), []) is None
    assert live_plot(BenchState(), []) is None


def traced(bench, t_s):
    """The trace of the run up to a time, as the daemon gives it, and its readings."""
    readings = [one for one in drawn(GOOD_RUN) if one.t_ns <= t_s * 1e9]
    tracker = Tracker(PLAN, t_ns=0)
    events = [event for one in readings for event in tracker.feed(one)]
    bench.feed_until(t_s)
    return run_trace(bench.record(), Trace.of(readings), events, 400)


def test_a_screen_that_is_linked_in_mid_run_takes_what_passed_from_the_daemon(bench):
    there, whole = known(bench, 61)
    assert whole.unseen is None
    late = LoadHistory()
    late.add(there.live)
    assert late.unseen == 7
    late.fill(traced(bench, 61))
    assert late.unseen is None
    # The raw load is filled in, and the judged one lags it by up to a reading.
    seen, filled = whole.points(), late.points()
    assert len(filled) == pytest.approx(len(seen), abs=1)
    for (t_s, low_psi, high_psi), (_, low, high) in zip(seen, filled, strict=False):
        assert (low, high) == pytest.approx((low_psi, high_psi), abs=25), t_s


def test_a_trail_is_filled_with_its_own_run_alone(bench):
    _, history = known(bench, 61)
    before = history.points()
    history.fill(replace(traced(bench, 61), run=6))
    assert history.points() == before


def test_a_past_run_is_seen_whole_against_line_band_and_ceiling(bench):
    shown = past_run_plot(traced(bench, 245))
    # The ramp began 4.1 s into the run; the load had come off 245 s into it.
    assert (shown.area.start_s, shown.area.end_s) == pytest.approx((-4.0, 241.0), abs=0.5)
    assert shown.area.high_psi == pytest.approx(4074.4 * 1.06, abs=1)
    limits = [one.points for one in shown.curves if one.kind is CurveKind.LIMIT]
    levels = sorted(points[0][1] for points in limits)
    assert levels == pytest.approx([3920.0, 4074.4, 4080.0], abs=0.1)
    # The band is drawn where it counts: 120 s from the hold's start.
    band = next(points for points in limits if points[0][1] == 3920.0)
    assert band[1][0] - band[0][0] == pytest.approx(120.0)
    assert curve(shown, CurveKind.LOAD).points


def test_a_gap_in_a_past_run_stays_one(bench):
    trace = traced(bench, 245)
    whole = trace.load_psi[0]
    torn = replace(trace, load_psi=(whole[:50], whole[90:]))
    loads = [one for one in past_run_plot(torn).curves if one.kind is CurveKind.LOAD]
    assert [len(one.points) for one in loads] == [50, len(whole) - 90]


def test_a_spike_does_not_hide_a_past_run(bench):
    trace = traced(bench, 245)
    spiked = replace(trace, load_psi=(*trace.load_psi, ((100.0, 60_000.0),)))
    assert past_run_plot(spiked).area.high_psi == pytest.approx(4074.4 * 1.25, abs=1)


def test_a_past_hold_is_seen_from_near(bench):
    shown = past_hold_plot(traced(bench, 245))
    assert (shown.area.low_psi, shown.area.high_psi) == (3840.0, 4160.0)
    assert shown.area.end_s - shown.area.start_s == 130.0
    assert [text for _, text in shown.levels] == ["3 920", "4 080", "4 000"]


def test_a_run_that_never_held_has_no_hold_to_show(bench):
    trace = traced(bench, 60)
    assert past_hold_plot(trace) is None
    assert past_run_plot(trace) is not None
    assert past_run_plot(replace(trace, load_psi=())) is None
