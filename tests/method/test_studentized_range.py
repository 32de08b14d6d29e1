import math

import pytest
import scipy.stats

from ramphold.method.studentized_range import range_quantile, range_tail

# from memory: ISO 5725-6:1994 Table 1, critical range factors at 95 %
CRITICAL_RANGE = {2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3, 9: 4.4, 10: 4.5}


@pytest.mark.parametrize(("n", "factor"), CRITICAL_RANGE.items())
def test_with_a_known_spread_the_factors_are_those_of_the_table(n, factor):
    assert round(range_quantile(0.95, n, math.inf), 1) == factor


@pytest.mark.parametrize("n", [2, 3, 6])
@pytest.mark.parametrize("dof", [1, 2, 5, 16, 60])
def test_the_range_is_spread_as_scipy_has_it(n, dof):
    for ratio in (0.5, 3.0, 8.0):
        expected = scipy.stats.studentized_range.sf(ratio, n, dof)
        assert range_tail(ratio, n, dof) == pytest.approx(expected, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("p", [0.5, 0.95, 0.99])
@pytest.mark.parametrize("dof", [2, 12])
def test_quantiles_are_as_scipy_has_them(p, dof):
    expected = scipy.stats.studentized_range.ppf(p, 3, dof)

    assert range_quantile(p, 3, dof) == pytest.approx(expected, rel=1e-6)


def test_of_two_results_the_range_is_a_students_t():
    # by theory: the difference of two results over root 2 is normal
    expected = math.sqrt(2) * scipy.stats.t.ppf(0.975, 7)

    assert range_quantile(0.95, 2, 7) == pytest.approx(expected, rel=1e-6)
