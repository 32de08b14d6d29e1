"""The uncertainty budgets of the results of a sample, from its record and that of the bench.

A source that is not on record is left out and named, not guessed.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from statistics import fmean

from ramphold import units
from ramphold.method import cell
from ramphold.method.budgets import Balance, fines_budget, force_budget, mass_budget, stress_budget
from ramphold.method.crush_class import StressPoint
from ramphold.method.daily_check import LOAD_SPAN, LOAD_ZERO
from ramphold.method.fines_curve import FinesCurve
from ramphold.method.precision import Spread
from ramphold.method.uncertainty import Budget, Component, Shape, bounded
from ramphold.sample import (
    CRUSH,
    CertificateTaken,
    DailyCheckMade,
    Equipment,
    SampleRecord,
    SpecimenRecord,
    Trace,
)

__all__ = ["Known", "StressBudgets", "checks_of_run_days", "known_of", "stress_budgets"]

_NS_PER_DAY = 86_400 * 10**9

_NO_CERTIFICATE = "no certificate that states its uncertainty"

# No balance for grams shows more; further digits are rounding of floats.
_MOST_DECIMALS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known about the bench for all specimens.

    Attributes:
        load, balance: certificates in force; None if there is no usable one.
        load_step_lbf: smallest change between readings of the load.
        balance_step_g: one unit of the last digit of the masses.
        zero_lbf: largest error of a daily zero check in the days of the runs.
        span_pct: largest error of a span check in those days, in % of the load.
        missing: sources that are not known and therefore in no budget.
    """

    load: CertificateTaken | None
    balance: CertificateTaken | None
    load_step_lbf: float
    balance_step_g: float
    zero_lbf: float
    span_pct: float
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StressBudgets:
    """The budgets at one stress: force, stress, masses, and mean fines.

    Without a certificate of the load `force` and `stress` are None, and the budget of the fines
    lacks their contribution. `fines` is None if the spread of specimens is not known.
    """

    stress_psi: float
    force: Budget | None
    stress: Budget | None
    pan: Budget
    charge: Budget
    fines: Budget | None


def known_of(record: SampleRecord, trace: Trace | None) -> Known:
    """Collect what is on record; `trace` is one of the sample, for the step of the load."""
    load = _certificate(record, "load", ("%", *units.FORCE_UNITS))
    balance = _certificate(record, "balance", ("%", *units.MASS.sizes))
    checks = checks_of_run_days(record)
    zero = [abs(one.measured - one.expected) for one in checks if one.rule == LOAD_ZERO.name]
    span = [abs(one.off_pct) for one in checks if one.rule == LOAD_SPAN.name]
    bore_in = record.specimens[0].added.bore_in if record.specimens else cell.STANDARD_BORE_IN
    step_lbf = _load_step_lbf(trace, bore_in)
    missing = [
        *(() if load else (f"the calibration of the load ({_NO_CERTIFICATE})",)),
        *(() if balance else (f"the calibration of the balance ({_NO_CERTIFICATE})",)),
        *(() if step_lbf else ("the step of the load's readings (no trace)",)),
        *(() if zero else ("the return of the zero (no daily check of it in those days)",)),
        *(() if span else ("the drift of the load since its calibration (no span check)",)),
        *_bores_missing(record),
        *_friction(record),
        "the repeatability of the balance by itself (it is in the scatter of the specimens)",
    ]
    return Known(
        load=load,
        balance=balance,
        load_step_lbf=step_lbf,
        balance_step_g=_step_g(record),
        zero_lbf=max(zero, default=0.0),
        span_pct=max(span, default=0.0),
        missing=tuple(missing),
    )


def stress_budgets(  # noqa: PLR0913 - the inputs of the budgets
    record: SampleRecord,
    known: Known,
    point: StressPoint,
    *,
    curve: FinesCurve | None,
    spread: Spread | None,
    about_pct: float,
) -> StressBudgets:
    """The budgets at one stress, for the specimens that count.

    Args:
        record: the sample.
        known: what is known about the bench.
        point: the stress.
        curve: the fitted fines-stress curve, if there is one.
        spread: of a single specimen at fines of `about_pct`, in %.
        about_pct: see `spread`.
    """
    held = [
        one for one in record.specimens if one.counts and one.added.target_psi == point.stress_psi
    ]
    force = stress = None
    if known.load is not None:
        force = _force(known, known.load, cell.force_lbf(point.stress_psi, held[0].added.bore_in))
        stress = stress_budget(force, held[0].added.bore_in, max(_bore_off_in(record, held)))
    pan = _mass(known, fmean(one.balance.pan_g or 0.0 for one in held))
    charge = _mass(known, fmean(one.balance.charge_g or 0.0 for one in held))
    fines = None
    if spread is not None:
        others = (_scatter(point, spread, about_pct), *_others(held, stress, curve))
        fines = fines_budget(pan, charge, *others)
    return StressBudgets(
        stress_psi=point.stress_psi, force=force, stress=stress, pan=pan, charge=charge, fines=fines
    )


def _certificate(
    record: SampleRecord, instrument: str, known_units: Sequence[str]
) -> CertificateTaken | None:
    """The newest certificate with an uncertainty that a run or a mass cites.

    If no mass cites one, it is the newest of the balance.
    """
    fitting = [
        one
        for one in record.bench.certificates
        if one.instrument.startswith(instrument)
        and one.unit in known_units
        and one.expanded_uncertainty > 0
    ]
    cited = [one for one in fitting if one.certificate in record.certificates_cited]
    chosen = cited if cited or instrument == "load" else fitting
    return chosen[-1] if chosen else None


def checks_of_run_days(record: SampleRecord) -> list[DailyCheckMade]:
    """The daily checks within a day of the sample's runs."""
    starts = [run.started_utc_ns for one in record.specimens for run in one.runs]
    if not starts:
        return []
    first, last = min(starts) - _NS_PER_DAY, max(starts) + _NS_PER_DAY
    return [one for one in record.bench.checks if first <= one.utc_ns <= last]


def _load_step_lbf(trace: Trace | None, bore_in: float) -> float:
    """The smallest change between two readings in lbf, above the rounding of floats."""
    if trace is None:
        return 0.0
    stress = trace.stress_psi
    area_in2 = cell.area_in2(bore_in)
    changes = (abs(b - a) * area_in2 for a, b in pairwise(stress))
    return min((change for change in changes if change > 1e-6), default=0.0)  # noqa: PLR2004


def _step_g(record: SampleRecord) -> float:
    """One unit of the last decimal of the captured masses of specimens."""
    exponents = [
        Decimal(f"{shown_g:.{_MOST_DECIMALS}f}").normalize().as_tuple().exponent
        for one in record.masses
        for shown_g in (one.mass_g if one.shown_g is None else one.shown_g,)
        if one.test == CRUSH and one.line is not None
    ]
    return 10.0 ** min((e for e in exponents if isinstance(e, int)), default=0)


def _measured_bore_in(record: SampleRecord, name: str) -> float | None:
    for one in record.bench.equipment:
        if one.check.equipment is Equipment.CELL and one.check.name == name:
            return one.check.measured
    return None


def _friction(record: SampleRecord) -> Iterator[str]:
    if any(one.run is not None and one.run.by_pressure for one in record.specimens):
        yield "the friction of the ram's seals, often 1 to 3 % (common practice, no source)"


def _bores_missing(record: SampleRecord) -> Iterator[str]:
    for name in dict.fromkeys(one.added.cell for one in record.specimens):
        if _measured_bore_in(record, name) is None:
            yield f"the bore of cell {name or 'without a name'} (never measured)"


def _bore_off_in(record: SampleRecord, held: Iterable[SpecimenRecord]) -> Iterator[float]:
    for one in held:
        measured = _measured_bore_in(record, one.added.cell)
        yield 0.0 if measured is None else abs(measured - one.added.bore_in)


def _force(known: Known, load: CertificateTaken, force_lbf: float) -> Budget:
    share = force_lbf / 100 if load.unit == "%" else units.FORCE_UNITS[load.unit]
    return force_budget(
        force_lbf,
        calibration=Component(
            name=f"calibration, certificate {load.certificate}",
            u=load.expanded_uncertainty * share / load.coverage_factor,
        ),
        step_lbf=known.load_step_lbf,
        zero_lbf=known.zero_lbf,
        drift_lbf=known.span_pct / 100 * force_lbf,
    )


def _mass(known: Known, mass_g: float) -> Budget:
    scale_pct = 0.0
    if known.balance is not None and mass_g:
        one = known.balance
        u = one.expanded_uncertainty / one.coverage_factor
        scale_pct = u if one.unit == "%" else 100 * u * units.MASS.sizes[one.unit] / mass_g
    return mass_budget(
        mass_g, Balance(step_g=known.balance_step_g, repeatability_g=0.0, scale_pct=scale_pct)
    )


def _scatter(point: StressPoint, spread: Spread, about_pct: float) -> Component:
    """The scatter of the mean, from the spread at other fines, converted by log-odds."""
    at = point.mean_pct
    sd = spread.sd * at * (100 - at) / (about_pct * (100 - about_pct))
    return Component(
        name=f"scatter of specimens, n = {point.n}",
        u=sd / math.sqrt(point.n),
        dof=spread.dof,
        shape=Shape.READINGS,
    )


def _others(
    held: Sequence[SpecimenRecord], stress: Budget | None, curve: FinesCurve | None
) -> Iterator[Component]:
    """The contributions of the stress reached and of the mass lost to the fines."""
    target_psi = held[0].added.target_psi
    if curve is not None:
        slope = curve.slope_pct_psi(target_psi)
        if stress is not None:
            yield stress.as_component("stress, by the slope of the curve", slope)
        means = [one.run.hold_mean_psi for one in held if one.run and one.run.hold_mean_psi]
        if means:
            off_psi = abs(fmean(means) - target_psi)
            yield bounded("mean of the holds off the target", off_psi, slope)
    losses = [abs(one.balance.loss_pct) for one in held if one.balance.loss_pct is not None]
    if losses:
        yield bounded("not recovered after the crush", fmean(losses))
