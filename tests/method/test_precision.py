import math

import pytest

from ramphold.method.precision import ScatterSource, Spread, combined, pool

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


def sources(*spreads):
    return [ScatterSource(name="x", spread=Spread(sd=sd, dof=n), known=True) for sd, n in spreads]


def test_sources_together_have_the_freedom_of_welch_and_satterthwaite():
    assert combined([]) is None
    one = combined(sources((0.3, 7.0)))
    assert (one.sd, one.dof) == (pytest.approx(0.3), pytest.approx(7.0))
    # JCGM 100:2008 G.4.1: (9 + 16)**2 / (81/4 + 256/8) = 625/52.25.
    both = combined(sources((3.0, 4.0), (4.0, 8.0)))
    assert (both.sd, both.dof) == (pytest.approx(5.0), pytest.approx(625 / 52.25))
    assert combined(sources((0.0, 5.0), (0.0, 2.0))) == Spread(sd=0.0, dof=5.0)
