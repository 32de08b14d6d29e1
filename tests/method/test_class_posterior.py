"""The probability of a class, against draws of everything that is unknown, weighed with scipy."""

import math
from itertools import pairwise

import numpy as np
import pytest
import scipy.stats

from ramphold.method.class_evidence import posterior_of, weigh_class
from ramphold.method.class_question import ClassQuestion, Replicated, Scatter
from ramphold.method.precision import Precision, Spread
from ramphold.method.sieve_openings import SievePair, known_opening

STRESSES = (5000.0, 6000.0, 7000.0, 8000.0, 9000.0)
GRADING = 25 / 0.075
KNOWN = Spread(sd=0.5, dof=math.inf)
BETWEEN = Spread(sd=0.6, dof=math.inf)
UNKNOWN = known_opening(40), known_opening(40)


def pair(cut=UNKNOWN[0], after=UNKNOWN[1], *blanks_pct):
    return SievePair(cut=cut, after=after, grading_pct_mm=GRADING, blanks_pct=blanks_pct)


def curve_pct(limit_psi=7300.0, slope=3.0, whole_pct=0.0, stresses=STRESSES):
    """Fines of a straight curve that reaches 10 % at a stress, and whole grains beside them."""
    odds = [math.log(10 / 90) + slope * math.log(psi / limit_psi) for psi in stresses]
    return [100 / (1 + math.exp(-one)) + whole_pct for one in odds]


def question(means_pct, sieves, variance=0.3, stresses=STRESSES):
    return ClassQuestion(
        stresses=tuple(
            Replicated(stress_psi=psi, mean_pct=mean_pct, n=3, variance=variance)
            for psi, mean_pct in zip(stresses, means_pct, strict=True)
        ),
        scatter=Scatter(spread=KNOWN, control=KNOWN, between=BETWEEN),
        sieves=sieves,
        limit_pct=10.0,
    )


def by_draws(means_pct, variance=0.3, blank_pct=None, draws=20_000):
    """Probability of each stress to be within 10 %: what is unknown is drawn and weighed."""
    chance = np.random.default_rng(5)
    cut, after = chance.uniform(-0.0155, 0.0155, (2, draws))
    shares = chance.choice((0.03, 0.12, 0.2, 0.3, 0.45), draws, p=(0.15, 0.2, 0.25, 0.25, 0.15))
    departures = chance.choice((0.0, 0.1, 0.5), draws, p=(0.7, 0.2, 0.1))
    whole = GRADING * np.maximum(after - cut, 0.0)
    rest = (np.array(means_pct) - whole[:, None]) / (1 + after[:, None] / 0.425)
    can = rest.min(axis=1) > 0
    rest, after, whole, shares, departures = (
        one[can] for one in (rest, after, whole, shares, departures)
    )
    x = np.log(STRESSES) - np.mean(np.log(STRESSES))
    slope = rest * (100 - rest) / 100
    single = (0.5 / 9) ** 2 + (shares * whole)[:, None] ** 2 / slope**2
    single += 0.02**2 * np.maximum(slope**-2 - 1 / 81, 0)
    prior = 400 + np.outer(x, x) + 0.09 * np.outer(x * x, x * x)
    prior = prior + departures[:, None, None] ** 2 * np.eye(len(x))
    seen = prior + single[:, :, None] / 3 * np.eye(len(x))
    off = np.log(rest / (100 - rest)) - 3 * x
    # The density of a joint normal, from its factor: scipy's own takes a matrix at a time.
    roots = np.linalg.cholesky(seen)
    logs = scipy.stats.norm.logpdf(np.linalg.solve(roots, off[:, :, None])).sum(axis=(1, 2))
    logs -= np.log(np.diagonal(roots, axis1=1, axis2=2) * slope).sum(axis=1)
    logs -= len(x) * np.log(1 + after / 0.425)
    shown = single * slope**2
    logs += (scipy.stats.chi2.logpdf(2 * variance / shown, 2) - np.log(shown)).sum(axis=1)
    if blank_pct is not None:
        logs += scipy.stats.norm.logpdf(blank_pct, whole, np.hypot(shares * whole, 0.02))
    gain = prior @ np.linalg.inv(seen)
    middle = 9 * (math.log(1 / 9) - (3 * x + (gain @ off[:, :, None])[:, :, 0]))
    u = np.sqrt(81 * np.diagonal(prior - gain @ prior, axis1=1, axis2=2) + 0.6**2)
    weights = np.exp(logs - logs.max())
    return weights @ scipy.stats.norm.cdf(middle / u) / weights.sum()


@pytest.mark.parametrize(
    ("whole_pct", "variance"),
    [
        pytest.param(0.0, 0.3, id="nothing passed whole"),
        pytest.param(4.0, 1.2, id="four per cent passed whole"),
    ],
)
def test_on_sieves_of_unknown_opening_it_is_that_of_all_openings_weighed_by_the_specimens(
    whole_pct, variance
):
    means = curve_pct(whole_pct=whole_pct)
    found = posterior_of(question(means, pair(), variance)).passes
    assert found == pytest.approx(by_draws(means, variance), abs=0.03)


def test_a_blank_weighs_the_openings_as_another_specimen_does():
    means = curve_pct(whole_pct=3.0)
    found = posterior_of(question(means, pair(*UNKNOWN, 3.0), 0.8)).passes
    assert found == pytest.approx(by_draws(means, 0.8, blank_pct=3.0), abs=0.02)


def alone(mean_pct, scatter):
    """The question of one stress, where three specimens were crushed."""
    return ClassQuestion(
        stresses=(Replicated(stress_psi=9000.0, mean_pct=mean_pct, n=3, variance=0.3),),
        scatter=scatter,
        sieves=None,
        limit_pct=10.0,
    )


def test_a_stress_alone_is_as_students_t_has_it():
    scatter = Scatter(spread=Spread(sd=0.5, dof=5), control=None, between=None)
    gap = 9 * math.log(10 / 90 / (9.5 / 90.5))
    (passes,) = posterior_of(alone(9.5, scatter)).passes
    assert passes == pytest.approx(scipy.stats.t.cdf(gap / 0.5 * math.sqrt(3), 5), abs=1e-3)


@pytest.mark.parametrize(("dof", "most"), [(4, 0.032), (12, 0.012)])
def test_of_the_stresses_stated_with_a_probability_as_many_more_pass_as_d104_says(dof, most):
    # Laboratories of one true deviation, each of which knows it by so many degrees of freedom.
    chance = np.random.default_rng(8)
    gaps = chance.uniform(-4.0, 4.0, 4_000_000)
    sd = 0.6 * np.sqrt(chance.chisquare(dof, gaps.size) / dof)
    ratios = (gaps + chance.normal(0.0, 0.6, gaps.size)) / sd
    known = Scatter(
        spread=Spread(sd=1e-6, dof=math.inf), control=None, between=Spread(sd=0.6, dof=dof)
    )
    for ratio in (0.3, 0.7, 1.1):
        odds = math.log(10 / 90) - ratio * 0.6 / 9
        (stated,) = posterior_of(alone(100 / (1 + math.exp(-odds)), known)).passes
        share = np.mean(gaps[np.abs(ratios - ratio) < 0.05] > 0)
        more = scipy.stats.t.cdf(ratio * math.sqrt((dof + 1) / dof), dof + 1) - stated
        assert share - stated == pytest.approx(more, abs=0.005)
        assert 0 < more < most


def test_a_mean_far_off_any_curve_of_sands_is_believed_more_than_its_neighbours():
    odd = [2.0, 3.4, 5.4, 12.6, 11.5]
    found = posterior_of(question(odd, None)).passes
    assert found[3] < 0.05
    assert found[2] > 0.95


LABORATORY = Precision(within=Spread(sd=0.3, dof=math.inf), between=Spread(sd=0.3, dof=math.inf))


def specimens(means_pct, whole_pct=0.0, share=0.25, stresses=STRESSES):
    """Three specimens a stress, whose scatter is as it should be."""
    found = []
    for psi, mean_pct in zip(stresses, means_pct, strict=True):
        sd = math.hypot(0.3 * mean_pct * (100 - mean_pct) / 900, share * whole_pct)
        found += [(psi, mean_pct + sd * off) for off in (-1.0, 0.0, 1.0)]
    return found


def test_a_class_that_whole_grains_may_have_lowered_is_not_stated_as_sure():
    # 5 % more at every stress: by the rule two classes lower, and a curve that no sand has.
    held = specimens(curve_pct(whole_pct=5.0), 5.0)
    bare = weigh_class(held, laboratory=LABORATORY)
    found = weigh_class(held, laboratory=LABORATORY, sieves=pair())
    assert bare.found.crush_class == found.found.crush_class == "5K"
    assert found.probability("5K") < 0.1
    assert bare.probability("5K") > 0.5
    assert found.probability("6K") + found.probability("7K") > 0.85
    assert any("a blank tells how many do" in one for one in found.findings)


def test_a_blank_moves_the_probability_to_the_class_without_its_whole_grains():
    held = specimens(curve_pct(limit_psi=7500.0, whole_pct=4.0), 4.0)
    found = weigh_class(held, laboratory=LABORATORY, sieves=pair(*UNKNOWN, 4.0))
    assert found.found.crush_class == "6K"
    assert found.probability("7K") > 0.7
    assert not any("a blank tells" in one for one in found.findings)


def test_a_blank_of_a_sieve_worn_beyond_astm_e11_is_believed():
    held = specimens(curve_pct(limit_psi=7500.0, whole_pct=15.0), 15.0, 0.1)
    found = weigh_class(held, laboratory=LABORATORY, sieves=pair(*UNKNOWN, 15.0, 15.5, 14.5))
    assert max(found.sieves.amounts) > 13.0


def test_a_blank_on_one_sieve_for_both_tells_of_a_short_cut():
    same = known_opening(40, "A", 0.425)
    held = specimens(curve_pct(whole_pct=2.0), 2.0)
    found = weigh_class(held, laboratory=LABORATORY, sieves=pair(same, same, 2.0, 2.0))
    middle = sum(a * w for a, w in zip(found.sieves.amounts, found.sieves.weights, strict=True))
    assert middle == pytest.approx(2.0, abs=0.4)


def test_one_sieve_for_both_is_a_single_hypothesis():
    same = known_opening(40, "A", 0.4292, 0.0005)
    found = weigh_class(specimens(curve_pct()), laboratory=LABORATORY, sieves=pair(same, same))
    # By hand: 4.2 um over 425 um makes 10 % of fines 0.099 % too many.
    assert found.sieves.amounts == (pytest.approx(0.0988, abs=1e-4),)


def test_more_whole_grains_than_the_fines_of_any_stress_cannot_have_passed():
    found = weigh_class(
        specimens(curve_pct(stresses=(3000.0, 7000.0)), stresses=(3000.0, 7000.0)),
        laboratory=LABORATORY,
        sieves=pair(),
    )
    assert max(found.sieves.amounts) < curve_pct(stresses=(3000.0,))[0] + 0.4


def test_where_every_opening_passes_more_than_the_fines_they_say_nothing():
    wide, narrow = known_opening(40, "B", 0.435, 0.0001), known_opening(40, "A", 0.415, 0.0001)
    found = weigh_class(
        [(4000.0, 1.0), (4000.0, 1.2)], laboratory=LABORATORY, sieves=pair(narrow, wide)
    )
    assert found.probability("4K") > 0.9


def test_a_stress_without_fines_is_within_the_limit_and_one_of_nothing_else_is_over_it():
    means = (0.0, 2.0, 30.0, 60.0, 100.0)
    found = posterior_of(question(means, pair())).passes
    assert found[0] == 1.0
    assert found[4] == 0.0
    assert all(one >= other for one, other in pairwise(found))


@pytest.mark.parametrize("sd", [0.0, 1e-12, 1e-6])
def test_specimens_that_are_all_equal_leave_weights_and_no_division_by_nothing(sd):
    stresses = tuple(1000.0 * step for step in range(1, 16))
    held = [(psi, 2.0 + step) for step, psi in enumerate(stresses) for _ in range(30)]
    laboratory = Precision(within=Spread(sd=sd, dof=40), between=None)
    found = weigh_class(held, laboratory=laboratory, sieves=pair())
    assert sum(one.probability for one in found.classes) == pytest.approx(1.0)


def test_a_repeat_on_the_same_sieves_meets_the_same_whole_grains():
    held = specimens(curve_pct(whole_pct=4.0), 4.0)
    on_sieves, bare = (
        weigh_class(held, laboratory=LABORATORY, sieves=one) for one in (pair(), None)
    )
    assert [one.repeat for one in on_sieves.classes] == [one.repeat for one in bare.classes]
