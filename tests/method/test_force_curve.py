import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.force_curve import CalibrationCurve

# published: NIST StRD Pontius.dat, certified coefficients
PONTIUS = CalibrationCurve(
    c0=0.673565789473684e-03,
    c1=0.732059160401003e-06,
    c2=-0.316081871345029e-14,
    low_lbf=150_000,
    high_lbf=3_000_000,
)


def test_the_load_cell_case_reads_its_load():
    # from memory: NIST/SEMATECH e-Handbook 4.6.1.8; recomputed
    assert PONTIUS.force_lbf(1.239722) == pytest.approx(1_705_106, abs=0.5)


@given(
    st.floats(0, 50_000),
    st.floats(-1000, 1000),
    st.floats(1e-3, 1e3),
    st.floats(-1, 1),
    st.sampled_from([1, -1]),
)
def test_the_force_behind_a_reading_is_the_one_that_gave_it(force, c0, c1, bend, sign):
    curve = CalibrationCurve(
        c0=c0, c1=sign * c1, c2=0.4 * bend * c1 / 50_000, low_lbf=0.0, high_lbf=50_000.0
    )

    assert curve.force_lbf(curve.reading(force)) == pytest.approx(
        force, rel=1e-9, abs=1e-6 + 1e-9 / c1
    )


def test_a_straight_line_needs_no_quadratic():
    line = CalibrationCurve(c0=10.0, c1=2.0, low_lbf=0.0, high_lbf=100.0)

    assert (line.reading(20.0), line.force_lbf(50.0), line.slope(7.0)) == (50.0, 20.0, 2.0)


def test_a_cell_wired_the_other_way_round_reads_falling():
    line = CalibrationCurve(c0=0.0, c1=-50.0, low_lbf=0.0, high_lbf=100.0)

    assert line.force_lbf(-500.0) == 10.0


def test_a_reading_past_the_turn_of_the_curve_is_refused():
    with pytest.raises(
        InputError, match=r"beyond the turning point of the calibration curve: expected one up"
    ):
        PONTIUS.force_lbf(50.0)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"c1": math.nan}, "expected finite coefficients over a rising range"),
        ({"high_lbf": math.inf}, "expected finite coefficients over a rising range"),
        ({"low_lbf": -1.0}, "expected finite coefficients over a rising range"),
        ({"low_lbf": 100.0}, "expected finite coefficients over a rising range"),
        ({"c1": 0.0}, "turns under 100 lbf: expected one that only rises"),
        ({"c2": -0.01}, "turns under 100 lbf: expected one that only rises"),
    ],
)
def test_a_curve_that_can_not_be_used_is_refused(given, said):
    with pytest.raises(InputError, match=said):
        CalibrationCurve(**{"c0": 0.0, "c1": 1.0, "low_lbf": 0.0, "high_lbf": 100.0} | given)
