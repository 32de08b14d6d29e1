"""Components of variance against ASTM E691, an independent library and a likelihood of its own."""

import math
import random

import numpy as np
import pytest
import scipy.optimize

from ramphold.method.variance_components import variance_components

# ASTM E691, glucose in serum, eight laboratories of three results: the data set "Glucose" of the R
# package ILS (published). Deviations as the standard prints them, from memory.
D = [
    [193.71, 193.59, 193.65],
    [190.88, 200.14, 194.30],
    [192.71, 193.28, 190.28],
    [195.85, 196.36, 199.43],
    [192.59, 191.44, 195.12],
    [195.34, 198.26, 198.13],
    [194.66, 191.99, 187.13],
    [197.56, 195.99, 200.82],
]
E = [
    [292.78, 294.09, 292.89], [292.27, 309.40, 295.08], [295.53, 290.14, 292.34],
    [295.19, 295.44, 296.83], [293.93, 292.48, 294.28], [297.74, 296.80, 290.33],
    [287.29, 293.76, 289.36], [298.46, 295.28, 296.12],
]  # fmt: skip


def one_way(groups):
    values = [value for group in groups for value in group]
    levels = [at for at, group in enumerate(groups) for _ in group]
    return variance_components(values, [0] * len(values), {"laboratories": levels})


@pytest.mark.parametrize(
    ("groups", "repeatability", "reproducibility"), [(D, 2.6251, 3.3657), (E, 3.9350, 4.1923)]
)
def test_where_all_have_as_many_results_it_gives_the_printed_deviations(
    groups, repeatability, reproducibility
):
    found = one_way(groups)
    assert found.residual.sd == pytest.approx(repeatability, abs=5e-5)
    both = math.hypot(found.residual.sd, found.factors["laboratories"].sd)
    assert both == pytest.approx(reproducibility, abs=5.1e-5)
    # Eight times two degrees, less what the uncertainty of the other component costs: none here.
    assert found.residual.dof == pytest.approx(16, rel=1e-6)


def test_with_results_lost_it_agrees_with_an_independent_library():
    # statsmodels 0.15.0, MixedLM by REML; its own search stops at about five digits.
    kept = [group[:n] for group, n in zip(D, (3, 1, 2, 3, 3, 2, 3, 1), strict=True)]
    found = one_way(kept)
    assert found.factors["laboratories"].sd == pytest.approx(2.00263, rel=1e-4)
    assert found.residual.sd == pytest.approx(2.21627, rel=1e-4)


def crossed(seed):
    """Twelve days with two of five operators each, of one to three results."""
    chance = random.Random(seed)
    operators = {name: chance.gauss(0, 0.4) for name in "ABCDE"}
    days = {day: chance.gauss(0, 0.6) for day in range(12)}
    return [
        (day, name, round(10 + operators[name] + days[day] + chance.gauss(0, 0.3), 2))
        for day in range(12)
        for name in chance.sample("ABCDE", 2)
        for _ in range(chance.choice((1, 2, 3)))
    ]


def of_crossed(rows):
    return variance_components(
        [value for *_, value in rows],
        [0] * len(rows),
        {"days": [day for day, *_ in rows], "operators": [name for _, name, _ in rows]},
    )


@pytest.mark.parametrize(
    ("seed", "days", "operators", "residual"),
    [
        # statsmodels 0.15.0, MixedLM with variance components for both factors, by REML.
        (1, 0.439764, 0.386694, 0.301362),
        (2, 0.644373, 0.399325, 0.337985),
    ],
)
def test_crossed_factors_with_gaps_agree_with_an_independent_library(
    seed, days, operators, residual
):
    found = of_crossed(crossed(seed))
    assert found.factors["days"].sd == pytest.approx(days, rel=1e-4)
    assert found.factors["operators"].sd == pytest.approx(operators, rel=1e-4)
    assert found.residual.sd == pytest.approx(residual, rel=1e-4)


def test_no_other_variances_have_a_greater_restricted_likelihood():
    rows = crossed(3)
    y = np.array([value for *_, value in rows])
    parts = [np.array([[float(a[at] == b[at]) for b in rows] for a in rows]) for at in (0, 1)] + [
        np.eye(len(y))
    ]
    ones = np.ones((len(y), 1))

    def minus_twice(logs):
        whole = sum(math.exp(one) * part for one, part in zip(logs, parts, strict=True))
        inverse = np.linalg.inv(whole)
        of_mean = (ones.T @ inverse @ ones).item()
        rest = y - (ones.T @ inverse @ y).item() / of_mean
        return np.linalg.slogdet(whole)[1] + math.log(of_mean) + rest @ inverse @ rest

    best = scipy.optimize.minimize(minus_twice, [-2.0] * 3, method="Nelder-Mead", tol=1e-10)
    found = of_crossed(rows)
    ours = [found.factors["days"].sd, found.factors["operators"].sd, found.residual.sd]
    assert ours == pytest.approx([math.exp(one / 2) for one in best.x], rel=1e-4)


def test_a_component_below_zero_is_zero_and_the_rest_is_estimated_without_it():
    # Means that agree better than their scatter: REML then pools everything.
    groups = [[1.0, 3.0], [3.1, 1.1], [0.9, 2.9], [2.0, 2.1]]
    found = one_way(groups)
    assert found.factors["laboratories"].sd == 0.0
    values = [value for group in groups for value in group]
    assert found.residual.sd == pytest.approx(np.std(values, ddof=1))


def test_over_many_designs_with_gaps_the_variances_are_right_on_the_mean():
    found = [of_crossed(crossed(seed)) for seed in range(150)]
    days, operators = (
        np.mean([one.factors[name].sd ** 2 for one in found]) for name in ("days", "operators")
    )
    assert days == pytest.approx(0.36, rel=0.15)
    assert operators == pytest.approx(0.16, rel=0.25)
    assert np.mean([one.residual.sd**2 for one in found]) == pytest.approx(0.09, rel=0.06)


def test_factors_that_never_differ_alone_are_not_told_apart():
    values = [1.0, 1.1, 2.0, 2.2, 1.5, 1.4]
    levels = [0, 0, 1, 1, 2, 2]
    found = variance_components(values, [0] * 6, {"splits": levels, "days": levels, "one": [1] * 6})
    assert list(found.factors) == ["splits"]


def test_families_have_means_of_their_own():
    values = [value for group in D for value in group]
    levels = [at for at, group in enumerate(D) for _ in group]
    shifted = [*values, *(value + 1000 for value in values)]
    twice = variance_components(
        shifted, [0] * 24 + [1] * 24, {"laboratories": [*levels, *(at + 8 for at in levels)]}
    )
    assert twice.residual.sd == pytest.approx(one_way(D).residual.sd)
    assert twice.factors["laboratories"].sd == pytest.approx(one_way(D).factors["laboratories"].sd)


def test_equal_replicates_have_next_to_no_deviation_and_leave_that_between_them():
    # By hand: with a mean square of 0 within, the component between is the variance of the means.
    found = one_way([[9.5, 9.5], [10.0, 10.0], [9.2, 9.2]])
    assert found.factors["laboratories"].sd == pytest.approx(np.std([9.5, 10.0, 9.2], ddof=1))
    assert found.residual.sd < 1e-3


@pytest.mark.parametrize("second", [9.8, 9.8001, 9.801])
def test_one_pair_of_equal_results_says_what_one_of_nearly_equal_results_says(second):
    found = one_way([[9.8, second], [10.4], [10.0], [9.9]])
    # The variance of the means, by hand, but for what the pair differs by.
    between = np.std([9.8, 10.4, 10.0, 9.9], ddof=1)
    assert found.factors["laboratories"].sd == pytest.approx(between, rel=2e-3)
    assert found.residual.sd < 1e-3


def test_replicates_that_lie_close_beside_the_distance_of_families_keep_their_deviation():
    groups = [[5.0, 5.001], [5.002, 5.004], [500.0, 500.003], [500.001, 500.002]]
    values = [value for group in groups for value in group]
    levels = [at for at, group in enumerate(groups) for _ in group]
    found = variance_components(values, [level // 2 for level in levels], {"splits": levels})
    # Of pairs that differ by d, the mean square within is the mean of d**2 / 2.
    assert found.residual.sd == pytest.approx(1e-3 * math.sqrt((1 + 4 + 9 + 1) / 8), rel=1e-4)


@pytest.mark.parametrize(("values", "levels"), [([1.0], [0]), ([1.0, 1.0], [0, 0]), ([], [])])
def test_too_few_or_equal_results_show_nothing(values, levels):
    assert variance_components(values, [0] * len(values), {"splits": levels}) is None


def test_results_that_differ_from_family_to_family_alone_show_nothing():
    levels = [0, 1, 2, 0, 1, 2]
    values = [0.1, 0.1, 0.1, 5.3, 5.3, 5.3]
    assert variance_components(values, [0, 0, 0, 1, 1, 1], {"days": levels}) is None
