import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.outliers import agreement, grubbs
from ramphold.method.precision import Spread

# published: NIST/SEMATECH e-Handbook 1.3.5.17.1 (Tietjen and Moore 1972), with G and critical
# values in several public libraries
MASS_SPECTROMETER = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]

# recomputed; the one-sided column agrees with a published table to four decimals
CRITICAL = {
    3: (1.1531, 1.1543, 1.1547),
    4: (1.4625, 1.4813, 1.4963),
    5: (1.6714, 1.7150, 1.7637),
    8: (2.0317, 2.1266, 2.2744),
    10: (2.1761, 2.2900, 2.4821),
    20: (2.5566, 2.7082, 3.0008),
}


def test_the_handbooks_example_has_one_outlier():
    found = grubbs(MASS_SPECTROMETER)

    assert found.index == 7
    assert found.g == pytest.approx(2.46876461121245, rel=1e-12)
    assert found.critical == pytest.approx(2.1266, abs=5e-5)
    assert found.outlier is True
    # published: two-sided p of a public library
    assert found.p_value == pytest.approx(3.00263868207136e-07, rel=1e-6)


def test_the_handbooks_example_on_one_side():
    found = grubbs(MASS_SPECTROMETER, two_sided=False)

    assert found.critical == pytest.approx(2.031652, abs=5e-7)
    assert found.outlier is True


def test_the_breaking_strengths_of_e178_have_a_high_one():
    # from memory: ASTM E178, breaking strength of ten wires; recomputed
    found = grubbs([568, 570, 570, 570, 572, 572, 572, 578, 584, 596], two_sided=False)

    assert found.g == pytest.approx(2.3901, abs=5e-5)
    assert found.critical == pytest.approx(2.176, abs=5e-4)
    assert (found.index, found.outlier) == (9, True)


@pytest.mark.parametrize(("n", "row"), CRITICAL.items())
def test_critical_values_are_those_of_the_table(n, row):
    values = list(range(n))

    assert (
        grubbs(values, two_sided=False).critical,
        grubbs(values).critical,
        grubbs(values, significance=0.01).critical,
    ) == pytest.approx(row, abs=5e-5)


@given(st.lists(st.floats(-1e3, 1e3), min_size=3, max_size=3))
def test_on_a_triplicate_the_test_never_speaks(values):
    found = grubbs(values)

    assert found.outlier is None
    assert found.g < 1.15471  # recomputed: of three, the farthest lies at most 2/root 3 off


def test_results_that_all_agree_have_no_outlier():
    assert grubbs([5.0] * 6).outlier is False


@pytest.mark.parametrize("values", [[], [1.0, 2.0], [1.0, 2.0, math.nan]])
def test_too_few_or_broken_results_are_refused(values):
    with pytest.raises(InputError, match="expected 3 or more, all finite"):
        grubbs(values)


def test_a_triplicate_is_held_against_the_pooled_spread():
    # from memory: ISO 5725-6 critical range of three results, 3.3 times a well-known spread
    spread = Spread(sd=0.3, dof=math.inf)

    assert agreement([9.0, 9.4, 9.9], spread).agree is True
    assert agreement([9.0, 9.4, 10.1], spread).agree is False
    assert agreement([9.0, 9.4, 9.9], spread).limit == pytest.approx(0.99, abs=0.01)


def test_a_spread_from_few_specimens_allows_a_wider_range():
    # recomputed: 5 % point of the studentized range of three with ten degrees, 3.877
    assert agreement([1.0, 1.0, 1.0], Spread(sd=1.0, dof=10)).limit == pytest.approx(
        3.877, abs=5e-4
    )


@pytest.mark.parametrize(
    ("values", "spread"), [([9.0, 9.4, 30.0], None), ([9.0], Spread(sd=0.1, dof=20))]
)
def test_without_a_spread_or_a_second_result_there_is_no_telling(values, spread):
    found = agreement(values, spread)

    assert (found.limit, found.agree) == (None, None)
    assert found.range == max(values) - min(values)


def test_broken_replicates_are_refused():
    with pytest.raises(InputError, match="expected one or more finite numbers"):
        agreement([math.nan], None)


def test_normal_triplicates_fall_outside_as_rarely_as_the_significance_says():
    normal = statistics.NormalDist(9.0, 0.3).samples(6000, seed=11)
    limit = agreement(normal[:3], Spread(sd=0.3, dof=math.inf)).limit
    ranges = [max(t) - min(t) for t in zip(*[iter(normal)] * 3, strict=True)]

    assert sum(width > limit for width in ranges) / len(ranges) == pytest.approx(0.05, abs=0.012)
