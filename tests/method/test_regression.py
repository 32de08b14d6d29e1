import math
import random

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.regression import fit

# published: JCGM 100:2008 H.3 as coded in a public repository's examples: temperatures, corrections
GUM_T = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
GUM_B = [
    *(-0.171, -0.169, -0.166, -0.159, -0.164, -0.165),
    *(-0.156, -0.157, -0.159, -0.161, -0.160),
]


def digits(found, certified):
    """How many significant digits agree."""
    return 16.0 if found == certified else -math.log10(abs(found / certified - 1))


def test_pontius_comes_out_to_thirteen_certified_digits(pontius):
    # published: NIST StRD Pontius.dat
    found = fit(*pontius, degree=2)

    certified = {
        found.coefficients[0]: 0.673565789473684e-03,
        found.coefficients[1]: 0.732059160401003e-06,
        found.coefficients[2]: -0.316081871345029e-14,
        math.sqrt(found.covariance(0, 0)): 0.107938612033077e-03,
        math.sqrt(found.covariance(1, 1)): 0.157817399981659e-09,
        math.sqrt(found.covariance(2, 2)): 0.486652849992036e-16,
        found.residual_sd: 0.205177424076185e-03,
        found.r_squared: 0.999999900178537,
        found.regression_ss: 15.6040343244198,
        found.f_ratio: 185330865.995752,
        found.residual_ss: 0.155761768796992e-05,
    }
    assert len(certified) == 11
    assert min(digits(*pair) for pair in certified.items()) > 13
    assert found.dof == 37


def test_norris_comes_out_to_thirteen_certified_digits(norris):
    # published: NIST StRD Norris.dat
    found = fit(*norris, degree=1)

    certified = {
        found.coefficients[0]: -0.262323073774029,
        found.coefficients[1]: 1.00211681802045,
        math.sqrt(found.covariance(0, 0)): 0.232818234301152,
        math.sqrt(found.covariance(1, 1)): 0.429796848199937e-03,
        found.residual_sd: 0.884796396144373,
        found.r_squared: 0.999993745883712,
        found.regression_ss: 4255954.13232369,
        found.f_ratio: 5436385.54079785,
        found.residual_ss: 26.6173985294224,
    }
    assert len(certified) == 9
    assert min(digits(*pair) for pair in certified.items()) > 13
    assert found.dof == 34


def test_the_straight_line_of_the_load_cell_case(pontius):
    # from memory: NIST/SEMATECH e-Handbook 4.6.1; recomputed
    line = fit(*pontius, degree=1)

    assert line.coefficients == pytest.approx((0.614969e-2, 0.722103e-6), rel=1e-6)
    assert math.sqrt(line.covariance(0, 0)) == pytest.approx(0.7132e-3, rel=1e-4)
    assert math.sqrt(line.covariance(1, 1)) == pytest.approx(0.3969e-9, rel=1e-4)
    assert line.residual_sd == pytest.approx(0.217127e-2, abs=5e-9)
    assert line.dof == 38


def test_the_gum_thermometer_line_and_its_correction_at_30_degrees():
    # from memory: JCGM 100:2008 H.3; recomputed to more digits
    line = fit(GUM_T, GUM_B, degree=1, origin=20.0)
    u_intercept, u_slope = (math.sqrt(line.covariance(k, k)) for k in (0, 1))

    assert line.coefficients == pytest.approx((-0.17120379, 0.0021827), rel=1e-5)
    assert (u_intercept, u_slope) == pytest.approx((0.0028776, 0.00066794), rel=1e-5)
    assert line.covariance(0, 1) / (u_intercept * u_slope) == pytest.approx(-0.93043, abs=5e-6)
    assert line.residual_sd == pytest.approx(0.00349756, abs=5e-9)
    assert line.at(30.0) == pytest.approx(-0.14937681, abs=5e-9)
    assert line.u_at(30.0) == pytest.approx(0.00413860, abs=5e-9)


def test_a_line_is_as_scipy_has_it(norris):
    found, expected = fit(*norris, degree=1), scipy.stats.linregress(*norris)

    assert found.coefficients == pytest.approx((expected.intercept, expected.slope))
    assert math.sqrt(found.covariance(1, 1)) == pytest.approx(expected.stderr)
    assert math.sqrt(found.r_squared) == pytest.approx(expected.rvalue)


@given(st.integers(0, 2**32 - 1), st.sampled_from([1, 2]))
def test_coefficients_and_covariance_are_as_numpy_has_them(seed, degree):
    chance = random.Random(seed)
    x = [chance.uniform(-2, 3) for _ in range(12)]
    y = [1 + 2 * u - u * u + chance.gauss(0, 0.3) for u in x]

    found = fit(x, y, degree=degree)

    expected, covariance = np.polyfit(x, y, degree, cov=True)
    assert found.coefficients == pytest.approx(list(expected[::-1]), rel=1e-9, abs=1e-9)
    terms = range(degree + 1)
    assert [[found.covariance(i, j) for j in terms] for i in terms] == pytest.approx(
        covariance[::-1, ::-1], rel=1e-8, abs=1e-12
    )


def test_the_origin_moves_the_coefficients_and_nothing_else(pontius):
    plain, centred = fit(*pontius, degree=2), fit(*pontius, degree=2, origin=1.5e6)

    assert centred.at(2e6) == pytest.approx(plain.at(2e6), rel=1e-12)
    assert centred.u_at(2e6) == pytest.approx(plain.u_at(2e6), rel=1e-10)
    assert centred.residual_sd == plain.residual_sd
    assert centred.coefficients[0] == pytest.approx(plain.at(1.5e6))


def test_no_order_of_the_points_changes_a_digit(pontius):
    points = list(zip(*pontius, strict=True))
    random.Random(1).shuffle(points)

    assert fit(*zip(*points, strict=True), degree=2) == fit(*pontius, degree=2)


def test_a_single_further_reading_is_less_sure_than_the_line(norris):
    line = fit(*norris, degree=1)

    assert line.u_at(400.0, single=True) ** 2 == pytest.approx(
        line.u_at(400.0) ** 2 + line.residual_sd**2
    )


def test_points_on_a_line_leave_nothing_unexplained():
    line = fit([1.0, 2.0, 3.0], [0.1, 0.2, 0.3], degree=1)

    assert line.coefficients == (0.0, 0.1)
    assert (line.residual_sd, line.r_squared, line.f_ratio) == (0.0, 1.0, math.inf)


def test_points_at_one_height_have_a_level_line():
    line = fit([1.0, 2.0, 3.0], [5.0, 5.0, 5.0], degree=1)

    assert (line.coefficients, line.r_squared) == ((5.0, 0.0), 1.0)


@pytest.mark.parametrize(
    ("x", "y", "said"),
    [
        ([1.0, 2.0, 3.0], [1.0, 2.0], "3 x and 2 y: expected as many"),
        ([1.0, 2.0, math.nan], [1.0, 2.0, 3.0], "expected as many finite numbers"),
        ([1.0, 2.0, 3.0], [1.0, 2.0, math.inf], "expected as many finite numbers"),
        ([1.0, 2.0, 3.0], [1.0, 1e200, 3.0], "expected numbers small enough to be squared"),
        ([1.0, 2.0], [1.0, 2.0], "2 points at 2 different x: expected more than 2 points"),
        ([1.0, 1.0, 1.0], [1.0, 2.0, 3.0], "3 points at 1 different x: expected .* 2 or more x"),
    ],
)
def test_points_that_fix_no_line_are_refused(x, y, said):
    with pytest.raises(InputError, match=said):
        fit(x, y, degree=1)
