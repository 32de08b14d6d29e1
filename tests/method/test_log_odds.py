import math
import statistics

import pytest
import scipy.special
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.log_odds import by_stress, fines_pct, has_odds, log_odds, spread_at_limit


@given(st.floats(1e-6, 100 - 1e-6))
def test_log_odds_are_as_scipy_has_them_and_go_back(fines):
    assert log_odds(fines) == pytest.approx(scipy.special.logit(fines / 100), rel=1e-6, abs=1e-9)
    assert fines_pct(log_odds(fines)) == pytest.approx(fines, rel=1e-7)


def test_log_odds_far_out_are_still_fines():
    assert (fines_pct(-2000.0), fines_pct(2000.0)) == (0.0, 100.0)


def test_no_fines_and_all_fines_have_no_odds():
    assert [has_odds(fines) for fines in (0.0, 1e-9, 99.9, 100.0)] == [False, True, True, False]


def test_specimens_are_gathered_by_stress_in_rising_order():
    assert by_stress([(5000, 9.0), (4000, 4.0), (5000, 8.0)]) == {4000: [4.0], 5000: [9.0, 8.0]}


def test_a_spread_that_grows_with_the_fines_is_one_spread_about_the_limit():
    chance = statistics.NormalDist(0.0, 0.08)
    specimens = [
        (stress_psi, fines_pct(log_odds(level) + error))
        for stress_psi, level in ((3000, 1.0), (6000, 5.0), (9000, 25.0))
        for error in chance.samples(200, seed=int(stress_psi))
    ]

    found = spread_at_limit(specimens)

    assert found.dof == 597
    # 0.08 in log-odds is 0.08 x 10 x 0.9 in % about 10 %.
    assert found.sd == pytest.approx(0.72, rel=0.06)


def test_single_specimens_and_those_without_fines_tell_no_spread():
    assert spread_at_limit([(4000, 4.0), (5000, 0.0), (5000, 0.0)]) is None


@pytest.mark.parametrize("specimen", [(0.0, 4.0), (-1.0, 4.0), (math.inf, 4.0), (4000.0, math.nan)])
def test_a_specimen_without_sense_is_refused(specimen):
    with pytest.raises(InputError, match="expected finite numbers, and a stress above zero"):
        by_stress([specimen])
