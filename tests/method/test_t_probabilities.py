"""Student's t for arrays, against scipy."""

import numpy as np
import pytest
import scipy.stats

from ramphold.method.t_probabilities import t_cdf


@pytest.mark.parametrize("dof", [1, 1.5, 2, 2.5, 3, 7.3, 60, 1e4, np.inf])
def test_it_is_scipys(dof):
    t = np.linspace(-12, 12, 97)
    expected = scipy.stats.norm.cdf(t) if np.isinf(dof) else scipy.stats.t.cdf(t, dof)
    assert t_cdf(t, np.full(t.shape, float(dof))) == pytest.approx(expected, abs=1e-4)
