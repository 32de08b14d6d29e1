import math

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from ramphold.method.distributions import f_tail, t_cdf, t_quantile, two_sided_t

DOFS = [1, 1.5, 2, 3, 5, 10, 16.7, 37, 120, 1000]
PROBABILITIES = [1e-10, 1e-4, 0.005, 0.025, 0.05, 0.3, 0.7, 0.95, 0.975, 0.995, 0.9999]

# recomputed: 95 %, 97.5 % and 99.5 % points of Student's t, as every table prints them
T_TABLE = {
    1: (6.3138, 12.7062, 63.6567),
    2: (2.9200, 4.3027, 9.9248),
    3: (2.3534, 3.1824, 5.8409),
    4: (2.1318, 2.7764, 4.6041),
    5: (2.0150, 2.5706, 4.0321),
    9: (1.8331, 2.2622, 3.2498),
    16: (1.7459, 2.1199, 2.9208),
    37: (1.6871, 2.0262, 2.7154),
    60: (1.6706, 2.0003, 2.6603),
}


@pytest.mark.parametrize(("dof", "row"), T_TABLE.items())
def test_t_quantiles_are_those_of_the_table(dof, row):
    found = tuple(round(t_quantile(p, dof), 4) for p in (0.95, 0.975, 0.995))

    assert found == row


@pytest.mark.parametrize("dof", DOFS)
@pytest.mark.parametrize("p", PROBABILITIES)
def test_t_quantiles_are_as_scipy_has_them(p, dof):
    assert t_quantile(p, dof) == pytest.approx(scipy.stats.t.ppf(p, dof), rel=1e-11)


@pytest.mark.parametrize("dof", DOFS)
@pytest.mark.parametrize("t", [-300.0, -8.0, -2.0, -0.1, 0.0, 0.1, 2.0, 8.0])
def test_t_probabilities_are_as_scipy_has_them(t, dof):
    assert t_cdf(t, dof) == pytest.approx(scipy.stats.t.cdf(t, dof), rel=1e-11)


@pytest.mark.parametrize("dof1", [1, 2, 7, 17, 100])
@pytest.mark.parametrize("dof2", [1, 2, 9, 20, 1000])
def test_f_is_as_scipy_has_it(dof1, dof2):
    for f in (1e-6, 0.1, 0.8, 1.0, 2.0, 215.0):
        expected = scipy.stats.f.sf(f, dof1, dof2)
        assert f_tail(f, dof1, dof2) == pytest.approx(expected, rel=1e-11)


def test_many_degrees_of_freedom_still_agree_to_a_millionth():
    for dof in (1e4, 1e5, 1e6, 1e7):
        for p in (0.01, 0.975, 0.9995):
            expected = scipy.stats.t.ppf(p, dof)
            assert t_quantile(p, dof) == pytest.approx(expected, rel=1e-6)


def test_endless_degrees_of_freedom_are_the_normal_distribution():
    assert t_quantile(0.975, math.inf) == pytest.approx(scipy.stats.norm.ppf(0.975), rel=1e-12)
    assert t_cdf(-1.5, math.inf) == pytest.approx(scipy.stats.norm.cdf(-1.5), rel=1e-12)


def test_one_degree_of_freedom_is_the_arc_tangent_however_near_the_middle():
    for t in (1e-8, 1e-4, 1.0, 1e6):
        assert 0.5 - t_cdf(-t, 1) == pytest.approx(math.atan(t) / math.pi, rel=1e-7)


def test_the_ends_are_sure():
    assert (t_cdf(-math.inf, 5), t_cdf(0.0, 5), t_cdf(math.inf, 5)) == (0.0, 0.5, 1.0)
    assert (f_tail(0.0, 3, 5), f_tail(math.inf, 3, 5)) == (1.0, 0.0)
    assert t_quantile(0.5, 5) == 0.0


def test_the_two_sided_factor_leaves_half_of_the_rest_on_either_side():
    assert two_sided_t(0.95, 37) == t_quantile(0.975, 37)


@given(st.floats(1e-12, 1 - 1e-12), st.floats(0.5, 2e6))
def test_a_quantile_has_its_probability(p, dof):
    assert t_cdf(t_quantile(p, dof), dof) == pytest.approx(p, rel=1e-8)
