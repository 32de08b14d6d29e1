"""A run plan refuses what must not be run."""

import math

import pytest

from ramphold.core import RunPlan
from ramphold.errors import PlanError


@pytest.mark.parametrize("name", ["target_psi", "bore_in", "rate_psi_min", "hold_s"])
@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_a_figure_that_is_not_finite_and_positive_is_refused(name, value):
    with pytest.raises(PlanError, match=name):
        RunPlan(**{"target_psi": 4000.0, name: value})


def test_a_target_over_the_rating_is_refused_and_names_the_weakest():
    with pytest.raises(PlanError, match="rating of the press, 20000 lbf"):
        RunPlan(target_psi=8000, rating_lbf=20_000, rating_name="press")


def test_the_default_rating_is_fifteen_thousand_psi_over_the_bore():
    assert RunPlan(target_psi=15_000).rating_lbf == pytest.approx(47_123.9, abs=0.05)
    with pytest.raises(PlanError):
        RunPlan(target_psi=15_001)


def test_a_ceiling_under_the_target_is_refused():
    with pytest.raises(PlanError, match="ceiling"):
        RunPlan(target_psi=4000, ceiling_lbf=12_000)


def test_a_target_that_could_not_be_told_from_seating_is_refused():
    with pytest.raises(PlanError, match="at least 400 psi"):
        RunPlan(target_psi=300)


def test_at_4000_psi_the_ceiling_is_12800_lbf():
    # Common practice, no source: driven to 12 570 lbf, kept below 12 800 lbf.
    assert RunPlan(target_psi=4000).ceiling_lbf == 12_800
