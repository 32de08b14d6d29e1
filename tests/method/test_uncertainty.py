import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.method.uncertainty import (
    Component,
    Shape,
    bounded,
    combine,
    stated,
    step,
)


def end_gauge():
    """The end gauge of GUM H.1; inputs published: H.1 as coded in a public repository."""
    standard_nm, theta = 50_000_623.0, -0.1
    expansion, expansion_away = 11.5e-6, 0.0
    difference = combine(
        215.0,
        "nm",
        (
            Component(name="comparison", u=5.8, dof=24),
            Component(name="comparator, random", u=3.9, dof=5),
            Component(name="comparator, systematic", u=6.7, dof=8),
        ),
    )
    components = (
        Component(name="standard", u=25.0, dof=18),
        difference.as_component("difference"),
        bounded("expansion", 2e-6, -standard_nm * 0.0),
        Component(name="mean temperature", u=0.2, sensitivity=-standard_nm * expansion_away),
        bounded("cycling", 0.5, -standard_nm * expansion_away, shape=Shape.U_SHAPED),
        bounded("difference of expansion", 1e-6, -standard_nm * theta, dof=50),
        bounded("difference of temperature", 0.05, -standard_nm * expansion, dof=2),
    )
    value = standard_nm + 215.0
    return difference, combine(value, "nm", components, confidence=0.99)


def test_the_end_gauge_of_the_gum_comes_out_as_printed():
    # from memory: JCGM 100:2008 H.1; recomputed
    difference, gauge = end_gauge()

    assert difference.u == pytest.approx(9.7, abs=0.05)
    # Printed as 25.6, from the rounded 9.7 nm.
    assert difference.dof * (9.7 / difference.u) ** 4 == pytest.approx(25.6, abs=0.1)
    parts = [part.contribution for part in gauge.components]
    assert parts == pytest.approx([25, 9.7, 0, 0, 0, 2.9, 16.6], abs=0.05)
    assert gauge.u**2 == pytest.approx(1002, abs=1)
    assert gauge.u == pytest.approx(31.66, abs=0.005)
    assert gauge.k == pytest.approx(2.92, abs=0.005)
    # Printed as 93 nm: the GUM multiplies by a standard uncertainty rounded to 32 nm.
    assert gauge.k * round(gauge.u) == pytest.approx(93, abs=0.5)
    assert round(gauge.value / 1e6, 6) == 50.000838


@pytest.mark.parametrize(
    ("shape", "law"),
    [
        (Shape.RECTANGULAR, scipy.stats.uniform(-1, 2)),
        (Shape.TRIANGULAR, scipy.stats.triang(0.5, -1, 2)),
        (Shape.U_SHAPED, scipy.stats.arcsine(-1, 2)),
    ],
)
def test_a_half_width_counts_as_the_deviation_of_its_distribution(shape, law):
    assert bounded("part", 1.0, shape=shape).u == pytest.approx(law.std())


def test_a_digital_step_counts_with_0_289_of_itself():
    # from memory: JCGM 100:2008 F.2.2.1
    assert step("display", 10.0).u == pytest.approx(2.89, abs=0.005)
    assert step("display", 10.0).kind == "B"


def test_a_difference_of_two_readings_has_the_step_twice():
    # from memory: tare and gross, step over root 6
    both = combine(0.0, "g", (step("full", 0.001), step("empty", 0.001, -1.0)))

    assert both.u == pytest.approx(0.001 / math.sqrt(6))


def test_effective_degrees_of_freedom_are_cut_before_the_factor_is_taken():
    _, gauge = end_gauge()

    assert gauge.dof == pytest.approx(16.7, abs=0.06)
    assert gauge.k == pytest.approx(scipy.stats.t.ppf(0.995, 16))


def test_well_known_components_have_the_normal_factor():
    assert combine(1.0, "g", (bounded("part", 1.0),)).k == pytest.approx(1.959964, abs=1e-6)


def test_less_than_one_effective_degree_counts_as_one():
    budget = combine(1.0, "g", (Component(name="guess", u=1.0, dof=0.5),))

    assert budget.k == pytest.approx(12.7062, abs=5e-5)  # recomputed: t table, 1 degree


def test_a_budget_of_nothing_is_sure():
    budget = combine(5.0, "g", ())

    assert (budget.u, budget.expanded, budget.dof) == (0.0, 0.0, math.inf)


def test_a_component_of_nothing_takes_no_share():
    part = bounded("part", 0.0)

    assert combine(1.0, "g", (part,)).share_pct(part) == 0.0


def test_simulated_errors_spread_as_the_budget_says():
    # independent reference: numpy's own draws of each distribution
    chance = np.random.default_rng(5)
    draws = 400_000
    spread = np.std(
        3 * chance.uniform(-1, 1, draws)
        - 2 * chance.triangular(-2, 0, 2, draws)
        + np.sin(chance.uniform(-math.pi, math.pi, draws))
        + chance.normal(0, 0.5, draws)
    )
    budget = combine(
        0.0,
        "",
        (
            bounded("a", 1.0, 3.0),
            bounded("b", 2.0, -2.0, shape=Shape.TRIANGULAR),
            bounded("c", 1.0, shape=Shape.U_SHAPED),
            Component(name="d", u=0.5),
        ),
    )

    assert budget.u == pytest.approx(spread, rel=0.01)


@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(st.floats(1e-3, 1e3), st.floats(0.01, 50), st.integers(1, 60)),
        min_size=1,
        max_size=6,
    )
)
def test_shares_sum_to_the_whole_and_degrees_lie_between_their_parts(parts):
    budget = combine(
        0.0,
        "",
        [Component(name="part", u=u, sensitivity=c, dof=dof) for u, c, dof in parts],
    )

    if budget.u:
        assert sum(map(budget.share_pct, budget.components)) == pytest.approx(100)
        dofs = [part.dof for part in budget.components]
        assert min(dofs) <= budget.dof * (1 + 1e-9)
        assert budget.dof <= sum(dofs) * (1 + 1e-9)
        assert budget.expanded == budget.k * budget.u


@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [
        (100.02147, 0.00079, ("100.02147", "0.00079")),  # from memory: JCGM 100:2008 7.2.2
        (1705105.5688, 592.2, ("1705110", "590")),
        (9.4321, 0.0996, ("9.43", "0.10")),
        (9.4351, 0.35499, ("9.44", "0.35")),
        (-0.1712, 0.0029, ("-0.1712", "0.0029")),
        (12.5, 0.0, ("12.5", "0")),
    ],
)
def test_an_uncertainty_has_two_figures_and_its_value_ends_with_it(value, uncertainty, text):
    assert stated(value, uncertainty) == text
