import math

import pytest

from ramphold.method import limits
from ramphold.method.editions import EDITIONS


@pytest.mark.parametrize("value", [10.0, 9.96, 0.0])
def test_what_keeps_to_a_limit_of_ten_is_not_over_it(value):
    assert not limits.over(value, 10.0)


@pytest.mark.parametrize("value", [10.04, 10.000_001, math.inf])
def test_what_is_unrounded_over_ten_is_over_it(value):
    assert limits.over(value, 10.0)


@pytest.mark.parametrize(
    ("value", "limit"),
    [
        # all exactly on the limit in decimals, none in floats
        pytest.param(100 * 3.701 / 37.01, 10.0, id="fines of 3.701 g in 37.01 g"),
        pytest.param(math.fsum([2.1, 9.8, 18.1]) / 3, 10.0, id="mean of 2.1, 9.8 and 18.1"),
        pytest.param(0.1 + 0.2, 0.3, id="0.1 and 0.2"),
    ],
)
def test_what_is_on_a_limit_keeps_to_it_whatever_floats_make_of_it(value, limit):
    assert value > limit
    assert not limits.over(value, limit)
    assert not limits.under(limit, value)


def test_what_is_unrounded_under_ninety_is_under_it():
    assert limits.under(89.999_999, 90.0)
    assert not limits.under(90.0, 90.0)


@pytest.mark.parametrize("fines_pct", [7.7, 8.1])
def test_two_published_20_40_sands_keep_to_both_limits(fines_pct):
    # published: SPE-153165-MS (2012) abstract, fines at 4,000 psi
    assert not limits.over(fines_pct, limits.FINES_PCT)
    assert not limits.over(fines_pct, EDITIONS["API RP 56"].crush["20/40"].fines_pct)
