"""The class by draws, beside the probabilities that are stated and closed forms of scipy."""

import math
import time
from itertools import pairwise

import pytest
import scipy.stats
from tests.method.test_class_posterior import UNKNOWN, curve_pct, pair, question

from ramphold.method.class_draws import classes_by_draws
from ramphold.method.class_evidence import posterior_of, weigh_class
from ramphold.method.class_question import ClassQuestion, Replicated, Scatter
from ramphold.method.precision import Spread
from ramphold.method.sieve_openings import known_opening


def test_a_stress_alone_passes_as_often_as_students_t_says():
    one = ClassQuestion(
        stresses=(Replicated(stress_psi=9000.0, mean_pct=9.5, n=3, variance=0.3),),
        scatter=Scatter(spread=Spread(sd=0.5, dof=4), control=None, between=None),
        sieves=None,
        limit_pct=10.0,
    )
    gap = 9 * math.log(10 / 90 / (9.5 / 90.5))
    failed, passed = classes_by_draws(one, seed=1, draws=400_000)
    assert passed == pytest.approx(scipy.stats.t.cdf(gap / 0.5 * math.sqrt(3), 4), abs=0.003)
    assert failed + passed == pytest.approx(1.0)


def test_what_specimens_share_is_drawn_once_for_all_stresses():
    known = Spread(sd=1e-4, dof=math.inf)
    both = ClassQuestion(
        stresses=tuple(
            Replicated(stress_psi=psi, mean_pct=pct, n=3, variance=0.0)
            for psi, pct in zip((8000.0, 9000.0), (9.0, 11.0), strict=True)
        ),
        scatter=Scatter(spread=known, control=known, between=Spread(sd=1.0, dof=5)),
        sieves=None,
        limit_pct=10.0,
    )
    gaps = [9 * math.log(10 / 90 / (pct / (100 - pct))) for pct in (9.0, 11.0)]
    first, second = scipy.stats.t.cdf(gaps, 5)
    found = classes_by_draws(both, seed=2, draws=400_000)
    assert found == pytest.approx((1 - first, first - second, second), abs=0.003)


@pytest.mark.parametrize(
    "sieves", [None, pair(), pair(*UNKNOWN, 2.0)], ids=["none", "unmeasured", "a blank"]
)
def test_the_stated_probabilities_are_the_shares_of_the_draws(sieves):
    asked = question(curve_pct(whole_pct=2.0), sieves, 0.6)
    passes = [1.0, *posterior_of(asked).passes, 0.0]
    stated = [one - other for one, other in pairwise(passes)]
    assert classes_by_draws(asked, seed=3, draws=200_000) == pytest.approx(stated, abs=0.02)


@pytest.mark.parametrize("after_mm", [0.423, 0.425, 0.427])
def test_a_blank_that_says_the_openings_differ_by_all_that_is_allowed_is_drawn_too(after_mm):
    cut, after = known_opening(40, "A", 0.431, 0.002), known_opening(40, "B", after_mm, 0.001)
    sieves = pair(cut, after, 0.6)
    specimens = [(4000.0, 6.0), (4000.0, 6.5), (5000.0, 11.0), (5000.0, 12.0)]
    asked = weigh_class(specimens, sieves=sieves).question
    assert sum(classes_by_draws(asked, seed=1, draws=2000)) == pytest.approx(1.0)


def test_the_same_seed_draws_the_same_classes():
    asked = question(curve_pct(), None)
    found = [classes_by_draws(asked, seed=seed, draws=20_000) for seed in (1, 1, 2)]
    assert found[0] == found[1] != found[2]


def test_a_million_draws_take_less_than_two_seconds_of_a_processor():
    asked = question(curve_pct(whole_pct=2.0), pair(), 0.6)
    before = time.process_time()
    classes_by_draws(asked, seed=1, draws=1_000_000)
    assert time.process_time() - before < 2.0
