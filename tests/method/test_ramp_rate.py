"""The uncertainty of a ramp rate: its budget by hand, its draws by closed forms of scipy."""

import math
import time
from dataclasses import replace

import pytest
import scipy.stats

from ramphold.method.ramp_rate import Ramp, ramp_rate_budget, ramp_rate_by_draws

#: 2000 psi/min over four minutes, on a cell of 2 in read ten times a second.
RAMP = Ramp(
    rate_psi_min=2000.0,
    lasted_s=240.0,
    calibration=0.0025,
    drift=0.002,
    bore_in=2.0,
    bore_half_width_in=0.001,
    step_psi=3.0,
    interval_s=0.1,
)
EXACT = replace(
    RAMP, calibration=0.0, drift=0.0, bore_half_width_in=0.0, step_psi=0.0, interval_s=0.0
)


def test_the_budget_is_the_one_by_hand():
    budget = ramp_rate_budget(RAMP)
    by_hand = (
        0.0025 * 2000,  # calibration
        0.002 * 2000 / math.sqrt(3),  # drift
        2 * 0.0005 * 2000 / math.sqrt(3),  # bore: a thousandth of an inch of two
        math.sqrt(2) * 3 / math.sqrt(12) / 4,  # steps, over four minutes
        math.sqrt(2) * 0.05 / math.sqrt(3) / 240 * 2000,  # ages of two readings
    )
    assert budget.value == 2000.0
    assert budget.u == pytest.approx(math.hypot(*by_hand))


def test_draws_bear_out_the_budget_of_an_ordinary_ramp():
    budget, found = ramp_rate_budget(RAMP), ramp_rate_by_draws(RAMP, seed=1)
    assert found.mean == pytest.approx(2000.0, abs=0.1)
    assert found.bears_out(budget)


def test_one_badly_known_bore_refutes_it_as_in_9_2_4_of_jcgm_101():
    ramp = replace(EXACT, bore_half_width_in=0.2)
    found = ramp_rate_by_draws(ramp, seed=2)
    # Closed form: the rate falls with the bore, so that its quantiles are those of the bore.
    low, high = (2000 / (1 + scipy.stats.uniform(-0.1, 0.2).ppf(p)) ** 2 for p in (0.975, 0.025))
    assert (found.low, found.high) == pytest.approx((low, high), rel=0.002)
    assert not found.bears_out(ramp_rate_budget(ramp))


def test_a_ramp_of_a_few_readings_is_uncertain_by_their_age():
    ramp = replace(EXACT, lasted_s=1.0, interval_s=0.2)
    found = ramp_rate_by_draws(ramp, seed=3)
    # Closed form: the difference of two rectangular ages is triangular.
    low, high = (2000 / (1 + scipy.stats.triang(0.5, -0.2, 0.4).ppf(p)) for p in (0.975, 0.025))
    assert (found.low, found.high) == pytest.approx((low, high), rel=0.002)


def test_a_ramp_known_exactly_has_no_width():
    assert ramp_rate_budget(EXACT).u == 0.0
    assert ramp_rate_by_draws(EXACT, seed=1, draws=1000).u == pytest.approx(0.0, abs=1e-9)


def test_a_million_draws_take_less_than_two_seconds_of_a_processor():
    before = time.process_time()
    ramp_rate_by_draws(RAMP, seed=1, draws=1_000_000)
    assert time.process_time() - before < 2.0
