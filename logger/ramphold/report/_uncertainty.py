"""The uncertainty budgets of the results of a sample, from its record and that of the bench.

A source that is not on record is left out and named, not guessed.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from statistics import fmean

import numpy as np

from ramphold import units
from ramphold.core.trace import Trace
from ramphold.method import cell
from ramphold.method.budgets import Balance, fines_budget, force_budget, mass_budget, stress_budget
from ramphold.method.crush_class import StressPoint
from ramphold.method.daily_check import LOAD_SPAN, LOAD_ZERO, DailyCheck
from ramphold.method.fines_curve import FinesCurve
from ramphold.method.precision import Spread
from ramphold.method.uncertainty import Budget, Component, Shape, bounded
from ramphold.method.wear import Equipment
from ramphold.sample import (
    CRUSH,
    CertificateTaken,
    DailyCheckMade,
    SampleRecord,
    SpecimenRecord,
)

_NS_PER_DAY = 86_400 * 10**9
# A smaller change between two forces is their rounding.
_ROUNDING_LBF = 1e-6

_NO_CERTIFICATE = "no certificate that states its uncertainty"

# No balance for grams shows more; further digits are rounding of floats.
_MOST_DECIMALS = 6


@dataclass(frozen=True, kw_only=True)
class BenchKnown:
    """What is known about the bench, for the budgets of all specimens.

    Attributes:
        record: the sample.
        trace: one of its traces, which shows the step of the load; None without one.
    """

    record: SampleRecord
    trace: Trace | None

    @cached_property
    def load(self) -> CertificateTaken | None:
        """The certificate of the load; None if there is no usable one."""
        return self._certificate("load", units.FORCE_UNITS)

    @cached_property
    def balance(self) -> CertificateTaken | None:
        """The certificate of the balance; the newest if no mass cites one."""
        return self._certificate("balance", units.MASS.sizes, uncited=True)

    @cached_property
    def load_step_lbf(self) -> float:
        """The smallest change between two readings in lbf, above the rounding of floats."""
        if self.trace is None:
            return 0.0
        changes = np.abs(np.diff(np.asarray(self.trace.force_lbf)))
        changes = changes[changes > _ROUNDING_LBF]
        return float(changes.min()) if changes.size else 0.0

    @cached_property
    def balance_step_g(self) -> float:
        """One unit of the last decimal of the captured masses of specimens."""
        return self.balance_step(CRUSH)

    def balance_step(self, test: str) -> float:
        """One unit of the last decimal of the captured masses of a test."""
        exponents = [
            Decimal(f"{shown_g:.{_MOST_DECIMALS}f}").normalize().as_tuple().exponent
            for one in self.record.masses
            for shown_g in (one.mass_g if one.shown_g is None else one.shown_g,)
            if one.test == test and one.line is not None
        ]
        return 10.0 ** min((e for e in exponents if isinstance(e, int)), default=0)

    @cached_property
    def zero_lbf(self) -> float | None:
        """The largest shift of a zero taken in the days of the runs; None without one."""
        shifts = (abs(one.off_lbf) for one in self._made(LOAD_ZERO) if one.off_lbf is not None)
        return max(shifts, default=None)

    @cached_property
    def span_pct(self) -> float | None:
        """The largest error of a span check in those days in % of the load; None without one."""
        return max((abs(one.off_pct) for one in self._made(LOAD_SPAN)), default=None)

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """The sources that are not known and therefore in no budget."""
        cells = dict.fromkeys(one.added.cell for one in self.record.specimens)
        by_pressure = any(one.run and one.run.by_pressure for one in self.record.specimens)
        sources = (
            (not self.load, f"the calibration of the load ({_NO_CERTIFICATE})"),
            (not self.balance, f"the calibration of the balance ({_NO_CERTIFICATE})"),
            (not self.load_step_lbf, "the step of the load's readings (no trace)"),
            (self.zero_lbf is None, "the return of the zero (none was taken in those days)"),
            (self.span_pct is None, "the drift of the load since its calibration (no span check)"),
            *(
                (self.bore_in(name) is None,
                 f"the bore of cell {name or 'without a name'} (never measured)")
                for name in cells
            ),
            (by_pressure,
             "the friction of the ram's seals, often 1 to 3 % (common practice, no source)"),
            (self.record.bench.laboratory is None or self.record.bench.laboratory.between is None,
             "the deviation from one day and split to the next (no control sand)"),
            (True,
             "the repeatability of the balance by itself (it is in the scatter of the specimens)"),
        )  # fmt: skip
        return tuple(words for is_missing, words in sources if is_missing)

    def bore_in(self, name: str) -> float | None:
        """The measured bore of a cell in inches; None if it was never measured."""
        for one in self.record.bench.equipment:
            if one.check.equipment is Equipment.CELL and one.check.name == name:
                return one.check.measured
        return None

    def force(self, force_lbf: float) -> Budget | None:
        """The budget of a force; None without a certificate of the load."""
        load = self.load
        if load is None:
            return None
        share = force_lbf / 100 if load.unit == "%" else units.FORCE_UNITS[load.unit]
        return force_budget(
            force_lbf,
            calibration=Component(
                name=f"calibration, certificate {load.certificate}",
                u=load.expanded_uncertainty * share / load.coverage_factor,
            ),
            step_lbf=self.load_step_lbf,
            zero_lbf=self.zero_lbf or 0.0,
            drift_lbf=(self.span_pct or 0.0) / 100 * force_lbf,
        )

    def mass(self, mass_g: float) -> Budget:
        """The budget of a net mass."""
        scale_pct = 0.0
        if self.balance is not None and mass_g:
            one = self.balance
            u = one.expanded_uncertainty / one.coverage_factor
            scale_pct = u if one.unit == "%" else 100 * u * units.MASS.sizes[one.unit] / mass_g
        return mass_budget(
            mass_g, Balance(step_g=self.balance_step_g, repeatability_g=0.0, scale_pct=scale_pct)
        )

    def _certificate(
        self, instrument: str, sizes: dict[str, float], *, uncited: bool = False
    ) -> CertificateTaken | None:
        """The newest certificate with an uncertainty that a run or a mass cites."""
        usable = [
            one
            for one in self.record.bench.certificates
            if one.instrument.startswith(instrument)
            and one.unit in ("%", *sizes)
            and one.expanded_uncertainty > 0
        ]
        cited = [one for one in usable if one.certificate in self.record.certificates_cited]
        chosen = usable if uncited and not cited else cited
        return chosen[-1] if chosen else None

    def _made(self, check: DailyCheck) -> list[DailyCheckMade]:
        return [one for one in checks_of_run_days(self.record) if one.rule == check.name]


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


def stress_budgets(
    known: BenchKnown,
    point: StressPoint,
    curve: FinesCurve | None,
    spread: Spread | None,
    about_pct: float,
) -> StressBudgets:
    """The budgets at one stress, for the specimens that count.

    Args:
        known: what is known about sample and bench.
        point: the stress.
        curve: the fitted fines-stress curve, if there is one.
        spread: of a single specimen at fines of `about_pct`, in %.
        about_pct: see `spread`.
    """
    held = [
        one
        for one in known.record.specimens
        if one.counts and one.added.target_psi == point.stress_psi
    ]
    bore_in = held[0].added.bore_in
    force = known.force(cell.force_lbf(point.stress_psi, bore_in))
    bores = ((one.added.bore_in, known.bore_in(one.added.cell)) for one in held)
    off_in = max(0.0 if found is None else abs(found - nominal) for nominal, found in bores)
    stress = None if force is None else stress_budget(force, bore_in, off_in)
    pan = known.mass(fmean(one.balance.pan_g or 0.0 for one in held))
    charge = known.mass(fmean(one.balance.charge_g or 0.0 for one in held))
    fines = None
    if spread is not None:
        others = (
            _scatter(f"scatter of specimens, n = {point.n}", point, spread, about_pct, point.n),
            *_shared(known, point, about_pct),
            *known.record.sieve_components(point.mean_pct, point.stress_psi),
            *_others(held, stress, curve),
        )
        fines = fines_budget(pan, charge, *others)
    return StressBudgets(
        stress_psi=point.stress_psi, force=force, stress=stress, pan=pan, charge=charge, fines=fines
    )


def checks_of_run_days(record: SampleRecord) -> list[DailyCheckMade]:
    """The daily checks within a day of the sample's runs."""
    starts = [run.started_utc_ns for one in record.specimens for run in one.runs]
    if not starts:
        return []
    first, last = min(starts) - _NS_PER_DAY, max(starts) + _NS_PER_DAY
    return [one for one in record.bench.checks if first <= one.utc_ns <= last]


def _scatter(
    name: str, point: StressPoint, spread: Spread, about_pct: float, n: int = 1
) -> Component:
    """The scatter of a mean of `n`, from the spread at other fines, converted by log-odds."""
    at = point.mean_pct
    sd = spread.sd * at * (100 - at) / (about_pct * (100 - about_pct))
    return Component(name=name, u=sd / math.sqrt(n), dof=spread.dof, shape=Shape.READINGS)


def _shared(known: BenchKnown, point: StressPoint, about_pct: float) -> Iterator[Component]:
    """What specimens of one split, day, operator and press share."""
    laboratory = known.record.bench.laboratory
    for source in laboratory.sources if laboratory is not None else ():
        one = _scatter(source.words, point, source.spread, about_pct)
        yield one if source.known else replace(one, shape=Shape.NORMAL)


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
