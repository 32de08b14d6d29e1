"""Laboratories with known deviations: U covers as stated, and probable classes are true as often.

`make bench-laboratory` is the long run; its table is stored beside it.
"""

import statistics

import pytest
from tests.bench.simulated_laboratory import ONE, UNKNOWN, simulate


@pytest.fixture(scope="module")
def tally():
    return simulate(ONE, 400, 4)


@pytest.fixture(scope="module")
def unmeasured():
    # Slow for what it computes: each of 50 classes is followed through forty pairs of sieves.
    return simulate(UNKNOWN, 50, 3)


def test_the_interval_of_a_mean_covers_the_true_fines_and_did_not_without_the_days(tally):
    # Five of a hundred miss; the means of one sample share a day, so that 400 samples are worth
    # little more than 400 results: 2.5 standard errors of 1.1 %.
    assert 0.92 <= tally.covered / tally.results <= 0.98
    assert tally.covered_before / tally.results < 0.7


def test_with_unmeasured_sieves_it_covers_the_true_fines_of_most_laboratories(unmeasured):
    # 10 laboratories, each with its pair: standard error 7 %.
    assert unmeasured.covered / unmeasured.results >= 0.8
    assert unmeasured.covered_before / unmeasured.results < 0.7


@pytest.mark.parametrize("sieves", ["tally", "unmeasured"])
def test_a_class_of_high_probability_is_the_true_one_as_often_as_stated(sieves, request):
    bins = request.getfixturevalue(sieves).bins
    sure = [one for low, stated in bins.items() if low >= 0.8 for one in stated]
    stated, right = (statistics.fmean(column) for column in zip(*sure, strict=True))
    # Three standard errors.
    assert len(sure) > 10
    assert right == pytest.approx(stated, abs=3 * (stated * (1 - stated) / len(sure)) ** 0.5)
