"""Coverage of an effect that only adds, against draws and scipy."""

import math

import numpy as np
import pytest
import scipy.stats

from ramphold.method.deviation import Deviation, evenly


def test_without_an_effect_it_is_students_t():
    found = Deviation(u=0.5, dof=7)
    assert found.within(0.3) == pytest.approx(scipy.stats.t.cdf(0.6, 7))
    assert found.reach(0.95) == pytest.approx(0.5 * scipy.stats.t.ppf(0.975, 7))
    assert found.rms == 0.5


@pytest.mark.parametrize("amounts", [(0.0, 0.0, 1.0, 4.0), (2.0,), (0.3, 0.6)])
@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_value_less_and_plus_its_reach_covers_the_truth_as_often_as_it_says(amounts, confidence):
    steps, weights = evenly(amounts)
    found = Deviation(u=0.4, dof=9, amounts=steps, weights=weights)
    chance = np.random.default_rng(2)
    off = 0.4 * chance.standard_t(9, 400_000) - chance.choice(amounts, 400_000)
    assert np.mean(np.abs(off) <= found.reach(confidence)) == pytest.approx(confidence, abs=0.002)
    assert np.mean(off <= -0.5) == pytest.approx(found.within(-0.5), abs=0.003)


def test_amounts_that_differ_from_value_to_value_reach_farther():
    found = Deviation(u=0.3, amounts=(0.0, 3.0), weights=(0.5, 0.5), share=0.25)
    chance = np.random.default_rng(4)
    amount = chance.choice([0.0, 3.0], 400_000) * (1 + 0.25 * chance.normal(size=400_000))
    off = chance.normal(0, 0.3, 400_000) - amount
    assert np.mean(np.abs(off) <= found.reach(0.95)) == pytest.approx(0.95, abs=0.002)
    assert math.sqrt(np.mean(off**2)) == pytest.approx(found.rms, rel=0.01)


def test_the_mirrored_deviation_is_that_of_the_negated_value():
    found = Deviation(u=0.4, amounts=(0.0, 1.0), weights=(0.5, 0.5))
    assert found.mirrored.within(0.7) == pytest.approx(1 - found.within(-0.7))


def test_an_effect_known_exactly_is_reached_exactly():
    found = Deviation(u=0.0, amounts=(0.0, 2.0), weights=(0.9, 0.1))
    assert found.reach(0.95) == pytest.approx(2.0)
    assert found.reach(0.8) == pytest.approx(0.0, abs=1e-6)
    assert found.rms == pytest.approx(math.sqrt(0.4))


def test_equally_likely_amounts_are_counted():
    assert evenly((0.0, 0.0, 1.5, 0.0)) == ((0.0, 1.5), (0.75, 0.25))
