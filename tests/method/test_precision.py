import math

import pytest
import scipy.stats

from ramphold.errors import InputError
from ramphold.method.precision import Spread, pool, study

# published: data set "Glucose" of a public statistics package, taken from ASTM E691: materials
# A, D and E, eight laboratories with three results each
GLUCOSE = {
    "A": (
        *((41.03, 41.45, 41.37), (41.17, 42.00, 41.15), (41.01, 40.68, 42.66)),
        *((39.37, 42.37, 42.63), (41.88, 41.19, 41.32), (43.28, 40.50, 42.28)),
        *((41.08, 41.27, 39.02), (43.36, 42.65, 41.72)),
    ),
    "D": (
        *((193.71, 193.59, 193.65), (190.88, 200.14, 194.30), (192.71, 193.28, 190.28)),
        *((195.85, 196.36, 199.43), (192.59, 191.44, 195.12), (195.34, 198.26, 198.13)),
        *((194.66, 191.99, 187.13), (197.56, 195.99, 200.82)),
    ),
    "E": (
        *((292.78, 294.09, 292.89), (292.27, 309.40, 295.08), (295.53, 290.14, 292.34)),
        *((295.19, 295.44, 296.83), (293.93, 292.48, 294.28), (297.74, 296.80, 290.33)),
        *((287.29, 293.76, 289.36), (298.46, 295.28, 296.12)),
    ),
}

# from memory: as printed in ASTM E691; recomputed, equal but for the last digit of two means
PRINTED = {
    "A": (41.5183, 0.6061, 1.0632, 1.0632, 2.98, 2.98),
    "D": (194.7170, 2.5950, 2.6251, 3.3657, 7.35, 9.42),
    "E": (294.4920, 2.6931, 3.9350, 4.1923, 11.02, 11.74),
}


@pytest.mark.parametrize("material", GLUCOSE)
def test_the_glucose_study_comes_out_as_printed(material):
    mean, mean_sd, s_r, s_big_r, r, big_r = PRINTED[material]

    found = study(GLUCOSE[material])

    assert found.mean == pytest.approx(mean, abs=1.5e-4)
    assert found.mean_sd == pytest.approx(mean_sd, abs=5.1e-5)
    assert found.repeatability_sd == pytest.approx(s_r, abs=5.1e-5)
    assert found.reproducibility_sd == pytest.approx(s_big_r, abs=5.1e-5)
    assert found.repeatability_limit == pytest.approx(r, abs=5.1e-3)
    assert found.reproducibility_limit == pytest.approx(big_r, abs=5.1e-3)


def test_the_consistency_limits_are_those_of_the_table():
    # from memory: ASTM E691 table for eight laboratories and three results; recomputed
    found = study(GLUCOSE["A"])

    assert (found.h_limit, found.k_limit) == pytest.approx((2.1525, 2.0608), abs=5e-5)


def test_only_the_scattered_laboratory_goes_beyond_its_limit():
    # recomputed from the published data: laboratory 2 of material E, with its 309.40
    found = study(GLUCOSE["E"])

    assert [number for number, k in enumerate(found.k, 1) if k > found.k_limit] == [2]
    assert not [h for h in found.h if abs(h) > found.h_limit]


@pytest.mark.parametrize("material", GLUCOSE)
def test_the_spreads_are_those_of_an_analysis_of_variance(material):
    # independent reference: scipy's one-way analysis of variance
    cells = GLUCOSE[material]
    found = study(cells)

    f = 3 * found.mean_sd**2 / found.repeatability_sd**2
    assert f == pytest.approx(scipy.stats.f_oneway(*cells).statistic)
    assert sum(found.h) == pytest.approx(0.0, abs=1e-9)
    assert sum(k * k for k in found.k) == pytest.approx(len(cells))


def test_cells_that_all_agree_have_no_spread():
    found = study([(1.0, 1.0)] * 3)

    assert (found.repeatability_sd, found.reproducibility_sd) == (0.0, 0.0)
    assert (found.h, found.k) == ((0.0,) * 3, (0.0,) * 3)


@pytest.mark.parametrize(
    "cells",
    [[], [(1.0, 2.0)] * 2, [(1.0,)] * 3, [(1.0, 2.0), (1.0, 2.0), (1.0, 2.0, 3.0)]],
)
def test_a_study_of_too_few_or_uneven_cells_is_refused(cells):
    with pytest.raises(InputError, match="expected 3 cells or more with the same number"):
        study(cells)


def test_a_result_that_is_no_number_is_refused():
    with pytest.raises(InputError, match="expected finite results"):
        study([(1.0, 2.0), (1.0, 2.0), (1.0, math.nan)])


def test_groups_pool_into_the_spread_within_them():
    cells = GLUCOSE["D"]

    assert pool(cells) == Spread(sd=pytest.approx(study(cells).repeatability_sd), dof=16)


def test_a_larger_group_weighs_more_and_a_single_result_says_nothing():
    # by hand: variances 2 with 1 degree and 1 with 2 degrees
    assert pool([(1.0, 3.0), (1.0, 2.0, 3.0), (9.0,)]) == Spread(
        sd=pytest.approx(math.sqrt((2 + 2 * 1) / 3)), dof=3
    )


def test_no_group_of_two_is_no_spread():
    assert pool([(1.0,), (2.0,)]) is None
