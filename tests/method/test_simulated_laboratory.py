"""Laboratories with known deviations: U covers as stated, and probable classes are true as often.

`make bench-laboratory` is the long run; its table is stored beside it.
"""

import pytest
from tests.bench.simulated_laboratory import BLANK, ONE, UNKNOWN, Bin, bins, simulate


@pytest.fixture(scope="module")
def tally():
    return simulate(ONE, 200, 4)


@pytest.fixture(scope="module")
def unmeasured():
    return simulate(UNKNOWN, 50, 3)


def test_the_interval_of_a_mean_covers_the_true_fines_and_did_not_without_the_days(tally):
    # Five of a hundred miss; the means of one sample share a day, so that 200 samples are worth
    # little more than 200 results: 2.5 standard errors of 1.5 %.
    assert 0.91 <= tally.covered / tally.results <= 0.99
    assert tally.covered_before / tally.results < 0.7


def test_with_unmeasured_sieves_it_covers_the_true_fines_of_most_laboratories(unmeasured):
    # 10 laboratories, each with its pair: standard error 7 %.
    assert unmeasured.covered / unmeasured.results >= 0.8
    assert unmeasured.covered_before / unmeasured.results < 0.7


@pytest.mark.slow
@pytest.mark.parametrize("known", [ONE, BLANK])
def test_a_class_is_the_true_one_as_often_as_its_probability_says(known):
    """A change that puts the probabilities off by five points fails: 600 samples tell 1.2."""
    classes = simulate(known, 600, 7, intervals=False, each=20).classes
    doubtful = [one for one in classes if one[0] < 0.9]
    for held, most in ((classes, 0.03), (doubtful, 0.06)):
        (whole,) = bins(held, least=len(held))
        assert abs(whole.off) < most


def test_a_probability_without_days_and_sieves_is_found_out_by_it(unmeasured):
    (before,) = bins(unmeasured.classes_before, least=50)
    assert before.off < -3 * before.noise


def test_bins_hold_enough_samples_and_state_their_noise():
    found = list(bins([(0.05, False)] * 150 + [(0.15, False)] * 60 + [(0.7, True)] * 250, 200))
    assert [(one.low, one.high, one.count) for one in found] == [(0.0, 0.2, 210), (0.2, 1.0, 250)]
    assert found[1] == Bin(low=0.2, high=1.0, count=250, stated=pytest.approx(0.7), true=1.0)
    assert found[1].noise == pytest.approx((0.7 * 0.3 / 250) ** 0.5)


def test_a_few_samples_left_over_join_the_bin_before():
    (one,) = bins([(0.05, False)] * 210 + [(0.7, True)] * 30, 200)
    assert (one.count, one.high) == (240, 1.0)
