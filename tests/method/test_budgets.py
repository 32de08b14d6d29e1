import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from ramphold.method import cell, fines
from ramphold.method.budgets import (
    Balance,
    fines_budget,
    force_budget,
    mass_budget,
    stress_budget,
)
from ramphold.method.uncertainty import Component, Shape, bounded, combine

BALANCE = Balance(step_g=0.001, repeatability_g=0.001, repeatability_dof=9, linearity_g=0.002)
CERTIFICATE = Component(name="calibration", u=30.0, dof=20)


def a_force(**given):
    return force_budget(12_566.0, calibration=CERTIFICATE, **{"step_lbf": 10.0} | given)


def of_u(value, u):
    return combine(value, "", (Component(name="all of it", u=u),))


def names(budget):
    return [part.name for part in budget.components]


def test_a_weighing_by_difference_counts_linearity_twice_as_the_chemists_guide_does():
    # from memory: EURACHEM/CITAC guide, example A1: 0.15 mg linearity gives 0.12 to 0.13 mg
    net = mass_budget(0.10028, Balance(step_g=0.0, repeatability_g=0.0, linearity_g=0.00015))

    assert net.u * 1000 == pytest.approx(0.125, abs=0.006)


def test_a_weighing_by_difference_holds_each_reading_twice():
    net = mass_budget(39.52, Balance(step_g=0.001, repeatability_g=0.0005))

    assert net.u == pytest.approx(math.hypot(0.0005 * math.sqrt(2), 0.001 / math.sqrt(6)))
    assert (net.value, net.unit) == (39.52, "g")


def test_the_scale_of_the_balance_counts_in_proportion_to_the_mass():
    exact = Balance(step_g=0.0, repeatability_g=0.0, scale_pct=0.01)

    assert mass_budget(40.0, exact).u == pytest.approx(0.004)


def test_a_force_counts_the_step_of_its_gauge_under_load_and_at_zero():
    # from memory: JCGM 100:2008 F.2.2.1, the step twice
    exact = force_budget(12_566.0, calibration=Component(name="none", u=0.0), step_lbf=10.0)

    assert exact.u == pytest.approx(10 / math.sqrt(6))


def test_zero_and_drift_of_the_gauge_are_bounds():
    moved = a_force(step_lbf=0.0, zero_lbf=30.0, drift_lbf=60.0)

    assert moved.u**2 == pytest.approx(30**2 + (30**2 + 60**2) / 3)


def test_a_stress_takes_half_a_per_cent_for_a_quarter_per_cent_of_bore():
    sure = force_budget(12_566.37, calibration=Component(name="none", u=0.0), step_lbf=0.0)

    found = stress_budget(sure, 2.0, 0.005)

    assert found.value == pytest.approx(4000.0, rel=1e-6)
    assert found.u / found.value == pytest.approx(2 * 0.0025 / math.sqrt(3))


@settings(max_examples=20)
@given(st.floats(500, 40_000), st.floats(1.0, 3.0))
def test_the_sensitivities_of_stress_are_its_slopes(force_lbf, bore_in):
    sure = force_budget(force_lbf, calibration=CERTIFICATE, step_lbf=1.0)
    by_force, by_bore = (
        part.sensitivity for part in stress_budget(sure, bore_in, 0.001).components
    )

    def slope(of, at):
        return (of(at * (1 + 1e-6)) - of(at * (1 - 1e-6))) / (2e-6 * at)

    assert by_force == pytest.approx(
        slope(lambda f: cell.stress_psi(f, bore_in), force_lbf), rel=1e-6
    )
    assert by_bore == pytest.approx(
        slope(lambda d: cell.stress_psi(force_lbf, d), bore_in), rel=1e-6
    )


@settings(max_examples=20)
@given(st.floats(0.1, 10.0), st.floats(20.0, 60.0))
def test_the_sensitivities_of_fines_are_their_slopes(pan_g, charge_g):
    found = fines_budget(mass_budget(pan_g, BALANCE), mass_budget(charge_g, BALANCE))
    by_pan, by_charge = (part.sensitivity for part in found.components)

    def slope(of, at):
        return (of(at * (1 + 1e-6)) - of(at * (1 - 1e-6))) / (2e-6 * at)

    assert found.value == fines.fines_pct(pan_g, charge_g)
    assert by_pan == pytest.approx(slope(lambda m: fines.fines_pct(m, charge_g), pan_g), rel=1e-6)
    assert by_charge == pytest.approx(
        slope(lambda m: fines.fines_pct(pan_g, m), charge_g), rel=1e-6
    )


def test_the_mean_fines_of_three_specimens_are_as_sure_as_their_scatter():
    pan, charge = mass_budget(3.716, BALANCE), mass_budget(39.52, BALANCE)
    stress = stress_budget(a_force(), 2.0, 0.001)
    # 9.0, 9.4 and 9.8 %
    specimens = Component(
        name="specimen to specimen", u=0.4 / math.sqrt(3), dof=2, shape=Shape.READINGS
    )

    found = fines_budget(
        pan,
        charge,
        specimens,
        stress.as_component("stress", 0.0031),
        bounded("lost in handling", 0.05),
    )

    assert names(found) == [
        *("mass in the pan", "mass of the charge"),
        *("specimen to specimen", "stress", "lost in handling"),
    ]
    assert max(found.components, key=found.share_pct) is specimens
    assert specimens.kind == "A"
    assert found.u > 0.4 / math.sqrt(3)
    # Two degrees of freedom from three specimens, hardly more from the rest.
    assert 2 <= found.dof < 3
    assert found.k == pytest.approx(4.3027, abs=5e-5)  # recomputed: t table, 2 degrees


# independent reference: the package uncertainties, which differentiates by itself
@settings(max_examples=30)
@given(
    force=st.tuples(st.floats(2_000, 40_000), st.floats(1, 200)),
    bore=st.tuples(st.floats(1.0, 3.0), st.floats(1e-4, 5e-3)),
    pan=st.tuples(st.floats(0.1, 10.0), st.floats(1e-4, 1e-2)),
    charge=st.tuples(st.floats(20.0, 60.0), st.floats(1e-4, 1e-2)),
)
def test_stress_and_fines_are_as_unsure_as_an_independent_package_says(force, bore, pan, charge):
    stress = stress_budget(of_u(*force), bore[0], bore[1] * math.sqrt(3))
    found = fines_budget(*(of_u(*one) for one in (pan, charge)))

    for budget, reference in (
        (stress, ufloat(*force) / (math.pi * ufloat(*bore) ** 2 / 4)),
        (found, 100 * ufloat(*pan) / ufloat(*charge)),
    ):
        assert budget.value == pytest.approx(reference.nominal_value, rel=1e-9)
        assert budget.u == pytest.approx(reference.std_dev, rel=1e-9)


def test_a_mass_by_difference_is_as_unsure_as_an_independent_package_says():
    # independent reference: the package uncertainties; one slope serves both readings
    slope = ufloat(1.0, 0.0003)
    full, empty = (
        reading
        + ufloat(0, 0.001)  # repeatability
        + ufloat(0, 0.001 / math.sqrt(12))  # step
        + ufloat(0, 0.002 / math.sqrt(3))  # linearity
        for reading in (151.956, 112.436)
    )

    found = mass_budget(39.52, replace(BALANCE, scale_pct=0.03))

    assert found.u == pytest.approx((slope * (full - empty)).std_dev, rel=1e-9)


def test_a_chain_of_budgets_from_gauge_to_fines_holds_its_parts_once():
    # independent reference: the package uncertainties over the whole chain at once
    gauge, bore = 12_566 + ufloat(0, 30.0) + ufloat(0, 10 / math.sqrt(6)), ufloat(2.0, 0.001)
    stress = gauge / (math.pi * bore**2 / 4)
    pan, charge = (
        mass + ufloat(0, math.hypot(0.001, 0.001 / math.sqrt(12), 0.002 / math.sqrt(3)) * 2**0.5)
        for mass in (3.716, 39.52)
    )
    reference = 100 * pan / charge + 0.0031 * (stress - stress.nominal_value)

    found = fines_budget(
        mass_budget(3.716, BALANCE),
        mass_budget(39.52, BALANCE),
        stress_budget(a_force(), 2.0, 0.001 * math.sqrt(3)).as_component("stress", 0.0031),
    )

    assert (found.value, found.u) == pytest.approx((reference.nominal_value, reference.std_dev))
