"""Figures: few points that keep every spike, and shapes where the values are."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from ramphold.core.trace import Trace
from ramphold.method.editions import CURRENT, EDITIONS, find_size
from ramphold.method.fines_curve import fit_fines
from ramphold.method.sieving import analyse
from ramphold.report._axes import Scale
from ramphold.report._drawing import Dot, Ink, Polyline, Words
from ramphold.report._fines_figure import FinesPicture, fines_drawing
from ramphold.report._format import figures, number, period, significant
from ramphold.report._run_figure import RunPicture, run_drawing
from ramphold.report._sieve_figure import passing_pct, sieve_drawing
from ramphold.report._small_runs import SmallRun, small_drawing


@given(st.floats(0, 1e5), st.floats(1e-3, 1e5))
def test_ticks_are_round_rise_and_lie_within_the_scale(low, width):
    scale = Scale(low=low, high=low + width, start=0, end=100)
    ticks = scale.ticks()
    assert ticks == sorted(set(ticks))
    assert len(ticks) <= 8
    assert all(-0.01 <= scale(tick) <= 100.01 for tick in ticks)


def lines(drawing, ink):
    return [shape for shape in drawing.shapes if isinstance(shape, Polyline) and shape.ink is ink]


def test_a_run_is_drawn_within_its_frame_with_line_and_ceiling(lab):
    run = lab.sheet().specimens[0].run
    drawing = run_drawing(run, lab.trace(run.run))
    for shape in drawing.shapes:
        if isinstance(shape, Polyline):
            assert all(0 <= x <= drawing.width and 0 <= y <= drawing.height
                       for x, y in shape.points)  # fmt: skip
    assert lines(drawing, Ink.TRACE)
    assert lines(drawing, Ink.PLAN)
    said = [shape.text for shape in drawing.shapes if isinstance(shape, Words)]
    assert f"ceiling {run.ceiling_lbf:.0f} lbf" in said


def test_the_planned_line_climbs_at_the_planned_rate(lab):
    run = lab.sheet().specimens[0].run
    drawing = run_drawing(run, lab.trace(run.run))
    start, reached, end = lines(drawing, Ink.PLAN)[0].points
    labels = [shape for shape in drawing.shapes if isinstance(shape, Words)]
    # What a point is worth, by the labels of the axes themselves.
    xs = {float(w.text): w.x for w in labels if w.text in {"100", "200"}}
    ys = {float(w.text): w.y for w in labels if w.text in {"2000", "4000"}}
    s_per_point = 100 / (xs[200.0] - xs[100.0])
    psi_per_point = 2000 / (ys[2000.0] - ys[4000.0])
    climbed = (start[1] - reached[1]) * psi_per_point
    took = (reached[0] - start[0]) * s_per_point
    assert 60 * climbed / took == pytest.approx(2000, rel=1e-6)
    assert reached[1] == end[1]


def test_each_specimen_with_fines_is_a_dot_and_those_left_out_are_struck_out(lab):
    record = lab.sheet()
    curve = fit_fines(record.counted)
    drawing = fines_drawing(
        FinesPicture(
            specimens=record.specimens, means=(), curve=curve, crossing=curve.crossing(),
            limit_pct=10.0,
        )
    )  # fmt: skip
    dots = [shape for shape in drawing.shapes if isinstance(shape, Dot)]
    assert [dot.ink for dot in dots].count(Ink.COUNTS) == 15
    assert [dot.ink for dot in dots].count(Ink.LEFT_OUT) == 2
    assert len(lines(drawing, Ink.LEFT_OUT)) == 2


def test_without_fines_there_is_no_figure(laboratory):
    new = laboratory()
    new.receive()
    picture = FinesPicture(
        specimens=new.sheet().specimens, means=(), curve=None, crossing=None, limit_pct=10.0
    )
    assert fines_drawing(picture) is None


def test_what_passes_a_sieve_is_all_that_no_coarser_one_and_not_itself_holds():
    # Published: genevainternational.net, frac-sand page, ISO 13503-2:2006 section 6, 20/40.
    masses_g = {16: 0.0, 20: 0.0, 25: 7.1, 30: 17.9, 35: 29.4, 40: 41.0, 50: 4.4, 0: 0.0}
    passing = passing_pct(masses_g)
    assert passing[20] == 100
    assert passing[40] == pytest.approx(100 * 4.4 / 99.8)
    assert passing[50] == pytest.approx(0)
    size = find_size("20/40")
    drawing = sieve_drawing(
        masses_g, size, analyse(masses_g, size, allowed=EDITIONS[CURRENT].sieving["fracturing"])
    )
    assert len([shape for shape in drawing.shapes if isinstance(shape, Dot)]) == 7


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (9000.0, "9000"), (-9000.4, "−9000"), (0.000231, "0.000231"),  # noqa: RUF001
     (2.89e-16, "2.89e−16"), (39.52, "39.5"), (0.9996, "1.00")],  # noqa: RUF001
)  # fmt: skip
def test_three_significant_figures(value, text):
    assert significant(value) == text


def test_a_period_tells_its_day_once():
    # 2026-03-03 08:00 UTC
    start = 1_772_524_800 * 10**9
    assert period(start, start + 3600 * 10**9) == "2026-03-03 08:00 to 09:00 UTC"
    assert period(start, start + 86_400 * 10**9) == "2026-03-03 08:00 UTC to 2026-03-04 08:00 UTC"


def test_numbers_have_a_true_minus_and_none_is_a_dash():
    assert number(-1.5, ".1f") == "−1.5"  # noqa: RUF001
    assert (number(None, ".1f"), figures(None)) == ("–", "–")  # noqa: RUF001
    assert [figures(one) for one in (1976.4, 43.52, 0.484)] == ["1976", "43.5", "0.48"]


def test_a_doubted_reading_is_marked_and_does_not_stretch_the_figure(lab):
    run = lab.sheet().specimens[0].run
    readings = lab.trace(run.run).readings()
    middle = len(readings) // 2
    spiked = Trace.of([
        structs.replace(one, force_lbf=60_000.0) if at == middle else one
        for at, one in enumerate(readings)
    ])  # fmt: skip
    plain, marked = RunPicture.of(run, lab.trace(run.run)), RunPicture.of(run, spiked)
    assert plain.doubted == ()
    assert [t_s for t_s, _ in marked.doubted] == [readings[middle].t_ns / 1e9]
    assert marked.top_psi == plain.top_psi
    drawn = small_drawing([SmallRun(title="run 1", picture=marked)]).shapes
    assert sum(isinstance(one, Dot) for one in drawn) == 1
