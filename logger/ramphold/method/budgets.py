"""The uncertainty budgets of a bench: force, stress, mass by difference, fines."""

import math
from dataclasses import dataclass

from ramphold.method import cell
from ramphold.method.uncertainty import Budget, Component, Shape, bounded, combine, step


def force_budget(
    force_lbf: float,
    *,
    calibration: Component,
    step_lbf: float,
    zero_lbf: float = 0.0,
    drift_lbf: float = 0.0,
) -> Budget:
    """The force shown by the gauge, in lbf, less its reading without a load.

    Args:
        force_lbf: the corrected force.
        calibration: its uncertainty from the certificate, in lbf.
        step_lbf: the resolution of the gauge; it enters at zero and under load.
        zero_lbf: the largest shift of the zero during a run.
        drift_lbf: the largest drift since calibration, from the span checks.
    """
    return combine(
        force_lbf,
        "lbf",
        (
            calibration,
            step("gauge step under load", step_lbf),
            step("gauge step at zero", step_lbf, -1.0),
            bounded("zero return", zero_lbf),
            bounded("drift since calibration", drift_lbf),
        ),
    )


def stress_budget(force: Budget, bore_in: float, bore_half_width_in: float) -> Budget:
    """The stress in psi of a force over a bore known to a half-width in inches.

    The force is that above the piston; friction of the piston in the bore is not included.
    """
    stress_psi = cell.stress_psi(force.value, bore_in)
    return combine(
        stress_psi,
        "psi",
        (
            force.as_component("force", 1 / cell.area_in2(bore_in)),
            bounded("bore", bore_half_width_in, -2 * stress_psi / bore_in),
        ),
        confidence=force.confidence,
    )


_SCALE = "balance calibration"


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """The properties of a balance.

    Attributes:
        step_g: its resolution.
        repeatability_g: standard deviation of a repeated reading.
        repeatability_dof: its degrees of freedom.
        linearity_g: the largest deviation of a reading from linearity.
        scale_pct: standard uncertainty of its scale from the certificate, in % of the mass.
    """

    step_g: float
    repeatability_g: float
    repeatability_dof: float = math.inf
    linearity_g: float = 0.0
    scale_pct: float = 0.0


def mass_budget(mass_g: float, balance: Balance) -> Budget:
    """A net mass in g: the reading with it less the reading without it.

    Resolution, repeatability and linearity enter with both readings; linearity as EURACHEM/CITAC
    counts it (example A1, from memory).
    """
    parts = [Component(name=_SCALE, u=balance.scale_pct / 100, sensitivity=mass_g)]
    for reading, sign in (("full", 1.0), ("empty", -1.0)):
        repeatability = Component(
            name=f"repeatability, {reading}",
            u=balance.repeatability_g,
            sensitivity=sign,
            dof=balance.repeatability_dof,
            shape=Shape.READINGS,
        )
        parts += (
            repeatability,
            step(f"balance step, {reading}", balance.step_g, sign),
            bounded(f"linearity, {reading}", balance.linearity_g, sign),
        )
    return combine(mass_g, "g", parts)


def fines_budget(pan: Budget, charge: Budget, *others: Component) -> Budget:
    """Fines in % of the charge, for one specimen or as the mean of several.

    One balance weighs both masses, so that its scale cancels (JCGM 100:2008 F.1.2.3, from memory).

    Args:
        pan: mass in the pan (for a mean, the specimens' mean).
        charge: mass of the charge, likewise.
        others: further sources in %: the scatter between specimens (which includes the random
            part of weighing, so that a little is counted twice), the stress reached (its
            sensitivity is the slope of the fines curve), the loss in handling.
    """
    fines_pct = 100 * pan.value / charge.value
    parts = (
        _apart(pan).as_component("mass in the pan", 100 / charge.value),
        _apart(charge).as_component("mass of the charge", -fines_pct / charge.value),
        *others,
    )
    return combine(fines_pct, "%", parts, confidence=pan.confidence)


def but_scale(mass: Budget) -> tuple[Component, ...]:
    """The sources of a mass that are its own: all but the scale of the balance."""
    return tuple(part for part in mass.components if part.name != _SCALE)


def _apart(mass: Budget) -> Budget:
    return combine(mass.value, mass.unit, but_scale(mass), confidence=mass.confidence)
