"""A laboratory with known deviations: U covers as stated, and probable classes are true as often.

`make bench-laboratory` is the long run; its table is stored beside it.
"""

import pytest
from tests.bench.simulated_laboratory import simulate


@pytest.fixture(scope="module")
def tally():
    return simulate("one sieve for both", 250, 4)


def test_the_interval_of_a_mean_covers_the_true_fines_and_did_not_without_the_days(tally):
    # Five of a hundred miss; the means of one sample share a day, so that 250 samples are worth
    # little more than 250 results: 2.5 standard errors of 1.4 %.
    assert 0.915 <= tally.covered / tally.results <= 0.985
    assert tally.covered_before / tally.results < 0.7


def test_a_class_of_high_probability_is_the_true_one_as_often_as_stated(tally):
    sure = [one for low, stated in tally.bins.items() if low >= 0.8 for one in stated]
    stated = sum(p for p, _ in sure) / len(sure)
    right = sum(is_so for _, is_so in sure) / len(sure)
    # 150 of 250 are so sure: 2.5 standard errors of 2 %.
    assert right == pytest.approx(stated, abs=0.05)
