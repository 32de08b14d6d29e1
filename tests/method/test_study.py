"""A round robin against the example of ASTM E691 and tables of ISO 5725-2."""

import math

import pytest
from scipy import stats

from ramphold.errors import InputError
from ramphold.method.distributions import f_quantile
from ramphold.method.study import cochran_limit, study

# ASTM E691, glucose in serum, eight laboratories with three results each. Data: R package ILS,
# data set Glucose.
A = """41.03 41.45 41.37 | 41.17 42.00 41.15 | 41.01 40.68 42.66 | 39.37 42.37 42.63
       41.88 41.19 41.32 | 43.28 40.50 42.28 | 41.08 41.27 39.02 | 43.36 42.65 41.72"""
D = """193.71 193.59 193.65 | 190.88 200.14 194.30 | 192.71 193.28 190.28 | 195.85 196.36 199.43
       192.59 191.44 195.12 | 195.34 198.26 198.13 | 194.66 191.99 187.13 | 197.56 195.99 200.82"""
E = """292.78 294.09 292.89 | 292.27 309.40 295.08 | 295.53 290.14 292.34 | 295.19 295.44 296.83
       293.93 292.48 294.28 | 297.74 296.80 290.33 | 287.29 293.76 289.36 | 298.46 295.28 296.12"""


def read(text):
    rows = text.replace("\n", "|").split("|")
    return {str(at): [float(one) for one in row.split()] for at, row in enumerate(rows, 1)}


@pytest.mark.parametrize(
    ("data", "mean", "mean_sd", "s_r", "s_big", "r", "r_big"),
    [
        # As ASTM E691 prints them, from memory; recomputed equal.
        (A, 41.518, 0.6061, 1.0632, 1.0632, 2.98, 2.98),
        (D, 194.717, 2.5950, 2.6251, 3.3657, 7.35, 9.42),
        (E, 294.492, 2.6931, 3.9350, 4.1923, 11.02, 11.74),
    ],
    ids="ADE",
)
def test_the_example_of_the_standard_comes_out_in_its_digits(  # noqa: PLR0913, PLR0917
    data, mean, mean_sd, s_r, s_big, r, r_big
):
    found = study(read(data))
    assert found.mean == pytest.approx(mean, abs=6e-4)
    assert round(found.mean_sd, 4) == mean_sd
    assert round(found.repeatability, 4) == s_r
    assert round(found.reproducibility, 4) == s_big
    assert round(found.repeatability_limit, 2) == r
    assert round(found.reproducibility_limit, 2) == r_big


def test_the_consistency_limits_are_those_of_the_standard():
    # ASTM E691 table for eight laboratories of three results, from memory: h 2.15, k 2.06.
    found = study(read(A))
    assert (round(found.h_limit, 2), round(found.cells[0].k_limit, 2)) == (2.15, 2.06)


# ISO 5725-2:1994 B.1, sulfur in coal: eight laboratories, three to five results each. From memory;
# the printed m = 0.690, s_r = 0.015 and s_R = 0.026 come out of these results.
COAL = """0.71 0.71 0.70 0.71 | 0.69 0.67 0.68 | 0.66 0.65 0.69 | 0.67 0.65 0.66
          0.70 0.69 0.66 0.71 0.69 | 0.73 0.74 0.73 | 0.71 0.71 0.69 | 0.70 0.65 0.68"""


def test_results_that_differ_in_number_come_out_as_iso_5725_prints_them():
    found = study(read(COAL))
    assert [one.n for one in found.cells] == [4, 3, 3, 3, 5, 3, 3, 3]
    assert f"{found.mean:.3f}" == "0.690"
    assert f"{found.repeatability:.3f}" == "0.015"
    assert f"{found.reproducibility:.3f}" == "0.026"
    # Neither test finds an outlier there (B.1.4).
    assert found.cochran < found.cochran_limit
    assert not found.grubbs.outlier


def test_the_limit_of_k_is_the_f_test_of_one_laboratory_against_all_others():
    found = study(read(COAL))
    for one in found.cells:
        dof, others = one.n - 1, 27 - 8 - (one.n - 1)
        # Independently: k at its limit has a variance ratio of F at 0.5 %.
        rest = (19 - dof * one.k_limit**2) / others
        assert one.k_limit**2 / rest == pytest.approx(stats.f.ppf(0.995, dof, others))


@pytest.mark.parametrize(
    ("laboratories", "results", "at_1", "at_5"),
    [(8, 3, 0.615, 0.516), (5, 2, 0.928, 0.841), (10, 4, 0.447, 0.373)],
)
def test_cochrans_limits_are_those_of_the_standard(laboratories, results, at_1, at_5):
    # ISO 5725-2:1994 table 4, from memory.
    assert cochran_limit(laboratories, results, 0.01) == pytest.approx(at_1, abs=6e-4)
    assert cochran_limit(laboratories, results, 0.05) == pytest.approx(at_5, abs=6e-4)


def test_grubbs_limit_is_that_of_the_standard():
    # ISO 5725-2:1994 table 5 for eight laboratories at 1 %: 2.274; from memory.
    assert round(study(read(D)).grubbs.critical, 3) == 2.274


@pytest.mark.parametrize(("dof1", "dof2"), [(1, 4), (2, 14), (7, 30)])
def test_quantiles_of_f_are_those_of_scipy(dof1, dof2):
    for p in (0.5, 0.95, 0.995, 0.99875):
        assert f_quantile(p, dof1, dof2) == pytest.approx(stats.f.ppf(p, dof1, dof2), rel=1e-9)


def test_h_and_k_sum_up_as_they_must():
    found = study(read(E))
    # h are standardised, and the squares of k average to one.
    assert math.fsum(one.h for one in found.cells) == pytest.approx(0, abs=1e-9)
    assert math.fsum(one.h**2 for one in found.cells) == pytest.approx(7)
    assert math.fsum(one.k**2 for one in found.cells) == pytest.approx(8)


def test_a_laboratory_apart_is_found_by_h_cochran_and_grubbs():
    wild = read(A) | {"8": [50.0, 43.0, 60.0]}
    found = study(wild)
    assert found.cells[7].h > found.h_limit
    assert found.cochran > found.cochran_limit
    assert found.grubbs.outlier
    assert found.grubbs.index == 7


@pytest.mark.parametrize(
    "results",
    [
        {"1": [1.0, 2.0], "2": [1.0, 2.0]},
        {"1": [1.0, 2.0], "2": [1.0, 2.0], "3": [1.0]},
        {"1": [1.0, 2.0], "2": [3.0, 4.0, 3.5], "3": []},
        {"1": [1.0], "2": [2.0], "3": [3.0]},
        {"1": [1.0, 1.0], "2": [2.0, 2.0], "3": [3.0, 3.0]},
        {"1": [1.0, 2.0], "2": [2.0, 1.0], "3": [1.0, 2.0]},
        {},
    ],
)
def test_what_shows_nothing_is_refused(results):
    with pytest.raises(InputError):
        study(results)
