"""What a pair of sieves may do to the fines, before a specimen tells more."""

import numpy as np
import pytest

from ramphold.method.pair_hypotheses import pair_hypotheses
from ramphold.method.sieve_openings import Opening, SievePair

GRADING_PCT_MM = 100.0


def opening(serial, mean_mm, half_width_mm):
    return Opening(
        serial=serial, nominal_mm=0.425, mean_mm=mean_mm, half_width_mm=half_width_mm, measured=True
    )


def pair(cut, after, *, blanks_pct=(), grading_pct_mm=GRADING_PCT_MM):
    return SievePair(cut=cut, after=after, grading_pct_mm=grading_pct_mm, blanks_pct=blanks_pct)


def moments(weights, values):
    mean = float(np.average(values, weights=weights))
    return mean, float(np.average((values - mean) ** 2, weights=weights)) ** 0.5


@pytest.mark.parametrize(("cut_mm", "after_mm"), [(0.420, 0.430), (0.400, 0.450)])
@pytest.mark.parametrize(("cut_half", "after_half"), [(0.001, 0.001), (0.002, 0.0005)])
def test_two_sieves_are_as_far_apart_as_measured_within_both_half_widths(
    cut_mm, after_mm, cut_half, after_half
):
    found = pair_hypotheses(
        pair(opening("A", cut_mm, cut_half), opening("B", after_mm, after_half))
    )
    mean, sd = moments(np.exp(found.log_weights), found.whole_pct / GRADING_PCT_MM)
    assert mean == pytest.approx(after_mm - cut_mm, abs=1e-5)
    # Each is rectangular: JCGM 100:2008 4.3.7, a**2 / 3. Forty pairs stand for all.
    assert sd == pytest.approx(((cut_half**2 + after_half**2) / 3) ** 0.5, rel=0.03)


@pytest.mark.parametrize("after_mm", [0.4235, 0.425, 0.428])
def test_the_opening_after_the_crush_widens_the_fines_by_its_share(after_mm):
    found = pair_hypotheses(pair(opening("A", 0.425, 0.002), opening("B", after_mm, 0.001)))
    mean, _ = moments(np.exp(found.log_weights), found.widening)
    assert mean == pytest.approx((after_mm - 0.425) / 0.425, abs=2e-4)
    # What the distance leaves open of the second opening is no more than its own half-width.
    assert found.half_widths.max() <= 0.001 / 0.425 + 1e-12
    assert found.half_widths.min() >= 0


def test_one_sieve_for_both_lets_no_whole_grain_through():
    one = opening("A", 0.427, 0.001)
    found = pair_hypotheses(pair(one, one))
    assert list(found.whole_pct) == [0.0]
    assert list(found.widening) == [pytest.approx(0.002 / 0.425)]
    assert list(found.half_widths) == [pytest.approx(0.001 / 0.425)]


def test_a_blank_says_what_passes_more_surely_than_the_openings():
    wide = pair(
        opening("A", 0.425, 0.0155), opening("B", 0.425, 0.0155), blanks_pct=(0.4, 0.4, 0.4)
    )
    found = pair_hypotheses(wide)
    mean, sd = moments(np.exp(found.log_weights), found.whole_pct)
    assert mean == pytest.approx(0.4, abs=0.1)
    assert sd < 0.2


BOTH = opening("", 0.425, 0.0155), opening("", 0.425, 0.0155)
ONE = opening("A", 0.425, 0.0155), opening("A", 0.425, 0.0155)


@pytest.mark.parametrize("sieves", [BOTH, ONE], ids=["two", "one"])
@pytest.mark.parametrize("blank_pct", [0.05, 0.5])
def test_what_a_blank_says_passes_even_where_the_analysis_shows_nothing_on_the_sieve(
    sieves, blank_pct
):
    found = pair_hypotheses(pair(*sieves, blanks_pct=(blank_pct,) * 3, grading_pct_mm=0.0))
    mean, _ = moments(np.exp(found.log_weights), found.whole_pct)
    assert mean == pytest.approx(blank_pct, rel=0.25)


@pytest.mark.parametrize("sieves", [BOTH, ONE], ids=["two", "one"])
@pytest.mark.parametrize("blanks_pct", [(), (0.0,)], ids=["no blank", "a blank of 0"])
def test_where_nothing_lies_on_the_sieve_and_no_blank_says_otherwise_no_whole_grain_passes(
    sieves, blanks_pct
):
    found = pair_hypotheses(pair(*sieves, blanks_pct=blanks_pct, grading_pct_mm=0.0))
    assert set(found.whole_pct) == {0.0}
    # Nor does that say anything of the openings.
    mean, _ = moments(np.exp(found.log_weights), found.widening)
    assert mean == pytest.approx(0.0, abs=1e-4)


def test_hypotheses_are_taken_at_places_which_may_be_repeated():
    found = pair_hypotheses(pair(opening("A", 0.42, 0.001), opening("B", 0.43, 0.001)))
    again = found.at(np.array([5, 5, 7]))
    for name in ("log_weights", "whole_pct", "widening", "half_widths", "shares"):
        assert list(getattr(again, name)) == list(getattr(found, name)[[5, 5, 7]])
