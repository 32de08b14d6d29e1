"""Propagation of distributions against the examples of JCGM 101:2008, clause 9 (from memory)."""

import math
import time

import numpy as np
import pytest
import scipy.stats

from ramphold.method.budgets import Balance, fines_budget, mass_budget
from ramphold.method.monte_carlo import (
    draw,
    draw_sum,
    fines_by_draws,
    generator,
    propagated,
)
from ramphold.method.uncertainty import Component, Shape, combine, one_sided

BALANCE = Balance(step_g=0.001, repeatability_g=0.001, scale_pct=0.5)


def parts(*uncertainties, shape=Shape.NORMAL):
    return [Component(name=str(at), u=u, shape=shape) for at, u in enumerate(uncertainties)]


def summed(components, seed=1):
    return propagated(draw_sum(components, generator(seed)))


def test_a_sum_of_four_normal_sources_has_the_interval_of_9_2_2():
    found = summed(parts(1.0, 1.0, 1.0, 1.0))
    assert found.u == pytest.approx(2.00, abs=0.005)
    assert (found.low, found.high) == pytest.approx((-3.92, 3.92), abs=0.015)
    assert found.bears_out(combine(0.0, "", parts(1.0, 1.0, 1.0, 1.0)))


def test_a_sum_of_four_rectangular_sources_has_the_interval_of_9_2_3():
    found = summed(parts(1.0, 1.0, 1.0, 1.0, shape=Shape.RECTANGULAR))
    assert found.u == pytest.approx(2.00, abs=0.005)
    assert (found.low, found.high) == pytest.approx((-3.88, 3.88), abs=0.015)


def test_one_rectangular_source_over_all_others_refutes_the_gum_as_in_9_2_4():
    sources = parts(1.0, 1.0, 1.0, 10.0, shape=Shape.RECTANGULAR)
    found = summed(sources)
    assert found.u == pytest.approx(10.1, abs=0.06)
    assert (found.low, found.high) == pytest.approx((-17.0, 17.0), abs=0.05)
    by_gum = combine(0.0, "", sources)
    assert by_gum.expanded == pytest.approx(19.9, abs=0.05)
    assert not found.bears_out(by_gum)


def test_the_calibration_of_a_mass_has_the_result_of_9_3():
    chance = generator(2)
    reference_mg = 100_000 + draw(Component(name="reference", u=0.050), chance)
    added_mg = 1.234 + draw(Component(name="added", u=0.020), chance)
    air, weight, standard = (
        middle + draw(Component(name="", u=half / math.sqrt(3), shape=Shape.RECTANGULAR), chance)
        for middle, half in ((1.20, 0.10), (8000.0, 1000.0), (8000.0, 50.0))
    )
    buoyancy = 1 + (air - 1.2) * (1 / weight - 1 / standard)
    found = propagated((reference_mg + added_mg) * buoyancy - 100_000)
    assert found.mean == pytest.approx(1.234, abs=0.0005)
    assert found.u == pytest.approx(0.0754, abs=0.0002)
    assert (found.low, found.high) == pytest.approx((1.0834, 1.3825), abs=0.001)


@pytest.mark.parametrize(
    ("at", "mean", "u"), [(0.0, 50, 50), (0.010, 150, 112), (0.050, 2550, 502)]
)
def test_a_loss_that_is_a_square_has_the_result_of_9_4(at, mean, u):
    chance = generator(3)
    real, imaginary = (draw(Component(name="", u=0.005), chance) for _ in range(2))
    found = propagated(1e6 * ((at + real) ** 2 + imaginary**2))
    assert (found.mean, found.u) == pytest.approx((mean, u), rel=0.01)


@pytest.mark.parametrize(
    ("at", "mean", "u"), [(0.0, 50, 67), (0.010, 150, 121), (0.050, 2550, 505)]
)
def test_a_loss_of_correlated_parts_has_the_result_of_9_4(at, mean, u):
    # Table 8, r = 0.9; from memory, and by hand: u^2 = 4 x^2 s^2 + 4 s^4 (1 + r^2).
    chance = generator(3)
    real, other = (draw(Component(name="", u=0.005), chance) for _ in range(2))
    imaginary = 0.9 * real + math.sqrt(1 - 0.9**2) * other
    found = propagated(1e6 * ((at + real) ** 2 + imaginary**2))
    assert (found.mean, found.u) == pytest.approx((mean, u), rel=0.01)


CASES = {
    Shape.RECTANGULAR: scipy.stats.uniform(-math.sqrt(3), 2 * math.sqrt(3)),
    Shape.STEP: scipy.stats.uniform(-math.sqrt(3), 2 * math.sqrt(3)),
    Shape.TRIANGULAR: scipy.stats.triang(0.5, -math.sqrt(6), 2 * math.sqrt(6)),
    Shape.U_SHAPED: scipy.stats.arcsine(-math.sqrt(2), 2 * math.sqrt(2)),
    Shape.NORMAL: scipy.stats.norm(),
    Shape.READINGS: scipy.stats.norm(),
}


@pytest.mark.parametrize("shape", CASES)
def test_each_shape_is_drawn_from_its_distribution(shape):
    values = draw(Component(name="", u=1.0, shape=shape), generator(4), 50_000)
    assert scipy.stats.kstest(values, CASES[shape].cdf).pvalue > 0.001


def test_a_one_sided_source_is_drawn_from_its_amounts_and_only_takes_away():
    source = one_sided("whole grains", (0.0, 0.0, 1.0, 3.0))
    found = draw_sum([source], generator(4), 40_000)
    assert set(found) == {0.0, -1.0, -3.0}
    assert [float((found == -g).mean()) for g in (0, 1, 3)] == pytest.approx(
        [0.5, 0.25, 0.25], abs=0.01
    )


def test_the_interval_of_a_one_sided_source_is_the_draws_and_not_the_budgets():
    pan, charge = (mass_budget(g, BALANCE) for g in (4, 40))
    others = [
        Component(name="scatter", u=0.2),
        one_sided("whole grains", (0.0, 0.0, 1.0, 2.0)),
    ]
    budget = fines_budget(pan, charge, *others)
    found = fines_by_draws(pan, charge, others, seed=8)
    assert found.low < 10 - 1.9
    assert 10 + 0.3 < found.high < 10 + 0.4
    assert not found.bears_out(budget)
    # Yet what the budget states covers the truth, 10 - amount, as often as it says.
    chance = np.random.default_rng(9)
    truth = 10 - chance.choice([0.0, 0.0, 1.0, 2.0], 200_000) + chance.normal(0, 0.2, 200_000)
    assert np.mean(np.abs(truth - 10) <= budget.expanded) == pytest.approx(0.95, abs=0.003)


def test_few_degrees_of_freedom_are_drawn_from_students_t():
    values = draw(Component(name="", u=2.0, dof=4, shape=Shape.READINGS), generator(5), 50_000)
    assert scipy.stats.kstest(values / 2.0, scipy.stats.t(4).cdf).pvalue > 0.001


def test_the_same_seed_gives_the_same_interval_and_another_one_nearly_the_same():
    found = [summed(parts(1.0, 2.0), seed) for seed in (1, 1, 2)]
    assert found[0] == found[1] != found[2]
    assert found[0].high == pytest.approx(found[2].high, rel=0.005)


def test_the_gums_interval_of_mean_fines_is_borne_out_where_many_specimens_stand_behind_it():
    pan, charge = mass_budget(3.7, BALANCE), mass_budget(39.5, BALANCE)
    scatter = Component(name="scatter", u=0.25, dof=40, shape=Shape.READINGS)
    found = fines_by_draws(pan, charge, [scatter], seed=6)
    budget = fines_budget(pan, charge, scatter)
    assert found.mean == pytest.approx(budget.value, abs=0.002)
    assert found.bears_out(budget)


def test_the_scale_of_one_balance_cancels_in_the_fines():
    exact = [mass_budget(g, Balance(step_g=0, repeatability_g=0, scale_pct=0.5)) for g in (4, 40)]
    assert fines_budget(*exact).u == 0.0
    assert fines_by_draws(*exact, [], seed=7, draws=1000).u == pytest.approx(0.0, abs=1e-12)


def test_nothing_known_as_uncertain_gives_an_interval_of_no_width():
    found = propagated(np.full(1000, 4.4))
    assert (found.low, found.high, found.u) == (4.4, 4.4, pytest.approx(0.0, abs=1e-12))


def test_a_million_draws_of_mean_fines_take_less_than_two_seconds_of_a_processor():
    pan, charge = (mass_budget(g, BALANCE) for g in (4, 40))
    others = [
        Component(name="scatter", u=0.2, dof=12, shape=Shape.READINGS),
        Component(name="splits, from memory", u=0.5, dof=4),
        one_sided("whole grains", tuple(at / 10 for at in range(40)), 0.1),
    ]
    before = time.process_time()
    fines_by_draws(pan, charge, others, seed=1, draws=1_000_000)
    assert time.process_time() - before < 2.0
