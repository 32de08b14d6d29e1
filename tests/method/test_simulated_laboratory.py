"""Laboratories with known deviations: U covers as stated, and probable classes are true as often.

`make bench-laboratory` is the long run; its table is stored beside it.
"""

import math

import pytest
from tests.bench._stated_classes import Stated, all_of, bins
from tests.bench.assumed_laboratory import AssumedLaboratory
from tests.bench.simulated_laboratory import BLANK, ONE, UNKNOWN, simulate


@pytest.fixture(scope="module")
def tally():
    return simulate(ONE, 200, 4)


@pytest.fixture(scope="module")
def unmeasured():
    return simulate(UNKNOWN, 100, 3, each=1)


def test_the_interval_of_a_mean_covers_the_true_fines_and_did_not_without_the_days(tally):
    # Five of a hundred miss; the means of one sample share a day, so that 200 samples are worth
    # little more than 200 results: 2.5 standard errors of 1.5 %.
    assert 0.91 <= all_of(tally.intervals).true <= 0.99
    assert all_of(tally.intervals_before).true < 0.7


def test_with_unmeasured_sieves_it_covers_the_true_fines_of_most_laboratories(unmeasured):
    # 100 laboratories, each with its pair: standard error 2 % where it covers 95 %.
    assert all_of(unmeasured.intervals).true >= 0.88
    assert all_of(unmeasured.intervals_before).true < 0.7


@pytest.mark.slow
@pytest.mark.parametrize("known", [ONE, BLANK])
def test_a_class_is_the_true_one_as_often_as_its_probability_says(known):
    """A change that puts the probabilities off by five points fails: 600 samples tell 1.2."""
    classes = simulate(known, 600, 7, intervals=False, each=20).classes
    doubtful = [one for one in classes if one.probability < 0.9]
    for held, most in ((classes, 0.03), (doubtful, 0.06)):
        assert abs(all_of(held).off) < most


@pytest.mark.slow
def test_where_all_that_the_model_assumes_is_true_a_class_is_as_often_true_as_stated():
    """600 samples tell 1.2 points of all, and 2.5 of those stated with less than 0.9."""
    classes = simulate(UNKNOWN, 600, 7, intervals=False, each=20, kind=AssumedLaboratory).classes
    doubtful = [one for one in classes if one.probability < 0.9]
    for held, most in ((classes, 0.03), (doubtful, 0.06)):
        assert abs(all_of(held).off) < most


def test_a_probability_without_days_and_sieves_is_found_out_by_it(unmeasured):
    before = all_of(unmeasured.classes_before)
    assert before.off < -3 * before.noise


def stated(probability, count, *, true):
    """So many classes, each of a laboratory of its own."""
    return [Stated(number, probability, true) for number in range(count)]


def test_bins_hold_enough_samples():
    classes = (
        stated(0.05, 150, true=False) + stated(0.15, 60, true=False) + stated(0.7, 250, true=True)
    )
    found = list(bins(classes, 200))
    assert [(one.low, one.high, one.count) for one in found] == [(0.0, 0.2, 210), (0.2, 1.0, 250)]
    assert (found[1].stated, found[1].true) == (pytest.approx(0.7), 1.0)
    assert found[1].off == pytest.approx(0.3)


def test_a_few_samples_left_over_join_the_bin_before():
    (one,) = bins(stated(0.05, 210, true=False) + stated(0.7, 30, true=True), 200)
    assert (one.count, one.high) == (240, 1.0)


def test_the_noise_of_a_bin_is_that_of_independent_samples_where_each_has_its_laboratory():
    one = all_of(Stated(at, 0.7, at < 700) for at in range(1000))
    # The standard error of a share: sqrt(p (1 - p) / n).
    assert one.noise == pytest.approx(math.sqrt(0.7 * 0.3 / 1000))


def test_the_noise_of_a_bin_is_greater_where_the_samples_of_a_laboratory_are_alike():
    alike = [Stated(at, 0.5, at % 2 == 0) for at in range(40) for _ in range(25)]
    one = all_of(alike)
    # Forty laboratories, however many samples each has.
    assert one.noise == pytest.approx(0.5 / math.sqrt(40))
