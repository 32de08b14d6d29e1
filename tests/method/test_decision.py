"""Decisions on limits, against the examples of JCGM 106:2012 (from memory) and against scipy."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from ramphold.method.crush_class import accepted_class
from ramphold.method.decision import decide, most_risk, rule_words
from ramphold.method.uncertainty import Component, combine, one_sided


def known(value, u, dof=math.inf):
    return combine(value, "%", [Component(name="u", u=u, dof=dof)])


@pytest.mark.parametrize(
    ("value", "u", "limit", "upper", "printed"),
    [
        # 7.3.2, a single upper limit: breakdown of a Zener diode in V, at most -5.40.
        pytest.param(-5.47, 0.05, -5.40, True, 0.92, id="diode"),
        # 7.3.3, a single lower limit: burst pressure of a container in kPa, at least 490.
        pytest.param(509.7, 8.6, 490.0, False, 0.99, id="container"),
    ],
)
def test_the_probability_of_conformity_is_that_of_the_guide(value, u, limit, upper, printed):
    found = decide(value, limit, upper=upper, budget=known(value, u))
    assert round(found.probability, 2) == printed
    assert found.accepted
    assert found.risk == pytest.approx(1 - found.probability)


def test_two_limits_together_give_the_probability_of_the_guide():
    # 7.4: viscosity of an oil of 13.6 with u = 1.8, between 12.5 and 16.3 mm2/s: 0.66.
    low = decide(13.6, 12.5, upper=False, budget=known(13.6, 1.8)).probability
    high = decide(13.6, 16.3, budget=known(13.6, 1.8)).probability
    assert round(low + high - 1, 2) == 0.66


def test_a_guard_band_for_a_risk_of_a_thousandth_is_that_of_the_guide():
    # 8.3.3.2: a speed limit of 100 km/h at u of 2 %; with 99.9 % it is passed at 107 km/h.
    speed = next(
        v for v in range(100, 120) if decide(v, 100, budget=known(v, 0.02 * v)).probability <= 0.001
    )
    assert speed == 107


def test_a_guard_band_of_one_u_leaves_a_risk_of_2_5_percent_and_none_leaves_half():
    # 8.3.2: r = 1 with k = 2 leaves at most 2.3 %; with k = 1.96, 2.5 %.
    assert most_risk(1.0) == pytest.approx(0.025, abs=1e-6)
    assert most_risk(0.0) == 0.5
    assert most_risk(2 / 1.959964) == pytest.approx(0.02275, abs=1e-5)


@pytest.mark.parametrize(
    ("value", "guard_band", "accepted"),
    [
        (10.0, 0.0, True),
        (10.001, 0.0, False),
        (9.02, 1.0, True),
        (9.03, 1.0, False),
        (9.52, 0.5, False),
        (9.5, 0.5, True),
    ],
)
def test_a_value_is_accepted_at_its_limit_or_a_guard_band_from_it(value, guard_band, accepted):
    # U = 1.96 x 0.5 = 0.98.
    found = decide(value, 10.0, budget=known(value, 0.5), guard_band=guard_band)
    assert found.accepted is accepted


def test_a_value_without_a_known_uncertainty_is_decided_by_itself_or_not_accepted():
    bare, guarded = decide(9.0, 10.0), decide(9.0, 10.0, guard_band=1.0)
    assert (bare.accepted, bare.probability, bare.risk) == (True, None, None)
    assert (guarded.accepted, guarded.within) == (False, True)


@settings(deadline=None)
@given(
    st.floats(0, 20), st.floats(0.01, 5), st.floats(1, 200), st.sampled_from([0.0, 0.5, 1.0, 1.5])
)
def test_no_accepted_value_carries_more_risk_than_the_rule_says(value, u, dof, guard_band):
    found = decide(value, 10.0, budget=known(value, u, dof), guard_band=guard_band)
    assert found.probability == pytest.approx(float(stats.t.cdf((10 - value) / u, dof)), abs=1e-9)
    if found.accepted and guard_band in (0.0, 1.0):
        # For few degrees of freedom U is Student's, so that the risk at its edge stays the same.
        assert found.risk <= most_risk(guard_band) + 0.003


def test_a_value_known_exactly_conforms_up_to_its_limit_on_either_side():
    exact = combine(10.0, "%", ())
    assert [
        decide(10.0, limit, upper=upper, budget=exact).probability
        for limit, upper in ((10.0, True), (10.0, False), (9.9, True), (10.1, False))
    ] == [1.0, 1.0, 0.0, 0.0]


def test_an_effect_that_only_raises_a_value_speaks_for_an_upper_limit_and_against_a_lower_one():
    # By hand: with 2 % too much in every second case, P is the mean of those of 10 and of 8.
    effect = one_sided("whole grains", (0.0, 2.0))
    budget = combine(10.0, "%", [Component(name="scatter", u=1.0), effect])
    by_hand = (stats.norm.cdf(-1.0) + stats.norm.cdf(1.0)) / 2
    assert decide(10.0, 9.0, budget=budget).probability == pytest.approx(by_hand)
    below = decide(10.0, 9.0, upper=False, budget=budget).probability
    assert below == pytest.approx(1 - by_hand)


def test_the_class_ends_below_the_first_stress_that_is_not_accepted():
    assert accepted_class([(4000, True), (5000, True), (6000, False), (7000, True)]) == "5K"
    assert accepted_class([(4000, False)]) is None
    assert accepted_class([]) is None


def test_the_rule_states_its_risk():
    assert "simple acceptance" in rule_words(0.0)
    assert "50 %" in rule_words(0.0)
    assert "keeps 1 U from its limit" in rule_words(1.0)
    assert "2.5 %" in rule_words(1.0)
