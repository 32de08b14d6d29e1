from dataclasses import replace

import msgspec
import pytest

from ramphold.core import RunState
from ramphold_tui.bench import Bench
from ramphold_tui.plot import Kind
from ramphold_tui.traces import picture
from ramphold_tui.trail import Trail


def known(bench, t_s):
    """What the screen knows, and the trail it has, when the run has come to a time."""
    trail, step = Trail(), 0.0
    while step < t_s:
        step += 0.1
        bench.feed_until(step)
        trail.add(bench.live())
    return Bench(live=bench.live(), heard_ns=0, record=bench.record()), trail


def curve(shown, kind):
    return next(curve for curve in shown.curves if curve.kind is kind)


def test_the_trail_follows_the_load_from_the_ramps_beginning(bench):
    _, trail = known(bench, 61)
    points = trail.points()
    # Every half second of the 56.9 s since 100 psi was crossed, 4 s after the start.
    assert len(points) == pytest.approx(2 * 56.9, abs=1)
    # 2000 psi/min, and the half second in between.
    t_s, low_psi, high_psi = points[60]
    assert low_psi == pytest.approx(100 + t_s * 2000 / 60, abs=15)
    assert high_psi - low_psi == pytest.approx(0.4 * 2000 / 60, abs=1)


def test_another_run_begins_another_trail(bench):
    _, trail = known(bench, 61)
    trail.add(msgspec.structs.replace(bench.live(), run=8))
    assert len(trail.points()) == 1


def test_a_run_that_has_ended_keeps_its_trail(bench):
    shown, trail = known(bench, 245)
    before = len(trail.points())
    trail.add(shown.live)
    assert shown.live.run is None
    assert len(trail.points()) == before > 400


def test_a_load_that_is_unknown_leaves_no_trail(bench):
    bench.feed_until(60)
    live = bench.live()
    trail = Trail()
    trail.add(msgspec.structs.replace(live, snapshot=replace(live.snapshot, stale=True)))
    trail.add(msgspec.structs.replace(live, snapshot=None))
    assert trail.points() == []


def test_the_whole_run_is_in_sight_with_line_and_ceiling(bench):
    shown, trail = known(bench, 61)
    drawn = picture(shown, trail.points())
    # 3900 psi at 2000 psi/min are 117 s, the hold is 120 s; then room for the release.
    assert drawn.area.end_s == pytest.approx(117 + 120 + 15)
    assert curve(drawn, Kind.LINE).points[1][:2] == pytest.approx((117.0, 4000.0))
    # The ceiling of 12 800 lbf [recomputed in the trade's table: 4000 psi] is 4074 psi.
    assert curve(drawn, Kind.LIMIT).points[0][1] == pytest.approx(4074.4, abs=0.1)
    assert drawn.levels == ((4000.0, "4 000"),)


def test_in_the_hold_the_band_is_in_sight_from_near(bench):
    shown, trail = known(bench, 150)
    assert shown.snapshot.state is RunState.HOLD
    drawn = picture(shown, trail.points())
    assert (drawn.area.low_psi, drawn.area.high_psi) == (3840.0, 4160.0)
    assert drawn.area.end_s - drawn.area.start_s == pytest.approx(130.0)
    assert [text for _, text in drawn.levels] == ["3 920", "4 080"]


def test_without_a_plan_there_is_no_picture(bench):
    bench.feed_until(60)
    assert picture(Bench(live=bench.live()), []) is None
    assert picture(Bench(), []) is None
