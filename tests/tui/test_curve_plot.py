import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold_tui.view.curve_plot import Curve, CurveKind, PlotArea, draw, row_of

AREA = PlotArea(start_s=0.0, end_s=10.0, low_psi=0.0, high_psi=100.0)


def texts(curves, width, height, *, braille):
    rows = draw(curves, AREA, width, height, braille=braille)
    return ["".join(text for text, _ in row) for row in rows]


def load(*corners):
    return Curve.through(CurveKind.LOAD, *corners)


def test_plain_marks_follow_a_slope_without_a_gap():
    assert texts([load((0, 0), (10, 100))], 5, 5, braille=False) == [
        "    *",
        "   **",
        "  ** ",
        " **  ",
        "**   ",
    ]


def test_braille_puts_two_by_four_dots_in_a_cell():
    # Unicode names U+2809 BRAILLE PATTERN DOTS-14, the upper two dots of a cell, and U+28C0
    # BRAILLE PATTERN DOTS-78, the lower two.
    assert texts([load((0, 100), (10, 100))], 3, 2, braille=True) == ["\u2809" * 3, "   "]
    assert texts([load((0, 0), (10, 0))], 3, 2, braille=True) == ["   ", "\u28c0" * 3]


def test_a_range_is_drawn_from_its_least_to_its_greatest():
    # U+28FF BRAILLE PATTERN DOTS-12345678 is the full cell.
    curve = Curve(kind=CurveKind.LOAD, points=((0.0, 0.0, 100.0), (10.0, 0.0, 100.0)))
    assert texts([curve], 2, 2, braille=True) == ["\u28ff\u28ff"] * 2


def test_the_load_is_seen_where_it_meets_its_line():
    line = Curve.through(CurveKind.LINE, (0, 50), (10, 50))
    row = draw([load((0, 50), (5, 50)), line], AREA, 9, 1, braille=False)[0]
    assert row[0] == ("****", CurveKind.LOAD) or row[0] == ("*****", CurveKind.LOAD)
    assert {kind for _, kind in row[1:]} == {CurveKind.LINE, CurveKind.NOTHING}


def test_curves_differ_by_their_dashes_too():
    rows = [
        texts([Curve.through(kind, (0, 50), (10, 50))], 12, 1, braille=False)[0]
        for kind in (CurveKind.LIMIT, CurveKind.LINE, CurveKind.LOAD)
    ]
    assert rows == ["--    --    ", ".  .  .  .  ", "************"]


def test_what_lies_outside_of_the_area_is_left_out():
    outside = [load((0, 150), (10, 150)), load((0, -50), (10, -50)), load((20, 50), (30, 50))]
    assert texts(outside, 6, 3, braille=True) == [" " * 6] * 3


def test_what_crosses_the_area_is_drawn_inside_it():
    assert texts([load((-10, 50), (20, 50))], 4, 1, braille=False) == ["****"]


@pytest.mark.parametrize(("psi", "row"), [(0, 4), (50, 2), (100, 0)])
@pytest.mark.parametrize("braille", [True, False])
def test_a_stress_is_named_in_the_row_in_which_it_is_drawn(psi, row, braille):
    assert row_of(psi, AREA, 5, braille=braille) == row
    drawn = texts([load((0, psi), (10, psi))], 4, 5, braille=braille)
    assert [y for y, text in enumerate(drawn) if text.strip()] == [row]


numbers = st.floats(-1e5, 1e5)


@given(
    st.lists(st.tuples(numbers, numbers, numbers), max_size=20),
    st.integers(1, 40),
    st.integers(1, 12),
    st.booleans(),
)
def test_whatever_the_points_the_picture_keeps_its_size(points, width, height, braille):
    curve = Curve(kind=CurveKind.LOAD, points=tuple(sorted(points)))
    rows = texts([curve], width, height, braille=braille)
    assert [len(row) for row in rows] == [width] * height
