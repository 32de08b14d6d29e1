import math

import pytest

from ramphold.method.precision import ScatterSource, Spread, pool

# published: data set "Glucose" of a public statistics package, taken from ASTM E691: material D,
# eight laboratories with three results each
GLUCOSE = (
    *((193.71, 193.59, 193.65), (190.88, 200.14, 194.30), (192.71, 193.28, 190.28)),
    *((195.85, 196.36, 199.43), (192.59, 191.44, 195.12), (195.34, 198.26, 198.13)),
    *((194.66, 191.99, 187.13), (197.56, 195.99, 200.82)),
)


def test_groups_pool_into_the_spread_within_them():
    # from memory: repeatability of the material as printed in ASTM E691
    assert pool(GLUCOSE) == Spread(sd=pytest.approx(2.6251, abs=5.1e-5), dof=16)


def test_a_larger_group_weighs_more_and_a_single_result_says_nothing():
    # by hand: variances 2 with 1 degree and 1 with 2 degrees
    assert pool([(1.0, 3.0), (1.0, 2.0, 3.0), (9.0,)]) == Spread(
        sd=pytest.approx(math.sqrt((2 + 2 * 1) / 3)), dof=3
    )


def test_no_group_of_two_is_no_spread():
    assert pool([(1.0,), (2.0,)]) is None


def test_a_source_of_scatter_says_whether_the_laboratory_has_shown_it():
    shown, assumed = (
        ScatterSource(name="days", spread=Spread(sd=0.3, dof=9), known=known)
        for known in (True, False)
    )
    assert shown.words == "between days, by the control sand"
    assert assumed.words == "between days, from memory"
