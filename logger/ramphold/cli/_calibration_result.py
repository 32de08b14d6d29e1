"""The result of a calibration: as JSON, as text and as a certificate."""

import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import asdict

from msgspec import Struct, structs

from ramphold.method.force_calibration import ForceCalibration
from ramphold.method.force_points import ForcePoint, Run
from ramphold.method.lack_of_fit import LackOfFit
from ramphold.units import FORCE_UNITS
from ramphold.wire import Certificate, CertificateFacts, CertificatePoint, CertificateResult

#: Decimal places of a percentage or an uncertainty in a certificate.
_PLACES = 4
_CLASS_SOURCE = "classes by ISO 7500-1:2018 Table 2, from memory: check against the standard held"


class CalibratedForce(Struct, frozen=True, kw_only=True):
    """The results at one force; percentages are of the force, `zero_pct` of the full range."""

    applied_lbf: float
    error_pct: float
    repeatability_pct: float
    resolution_pct: float
    zero_pct: float
    reversibility_pct: float | None
    force_class: str | None
    u_lbf: float
    expanded_lbf: float
    k: float
    residuals_lbf: tuple[float, ...]


class CalibrationResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command.

    `coefficients` belong to reading = c0 + c1 force + c2 force², with force in `unit`.
    """

    unit: str
    model: str
    coefficients: tuple[float, ...]
    coefficient_sd: tuple[float, ...]
    residual_sd: float
    dof: int
    r_squared: float
    f_ratio: float | None
    line_lack_of_fit: LackOfFit | None
    quadratic_lack_of_fit: LackOfFit | None
    resolution: float
    reference_pct: float
    zero_return: float
    expanded_lbf: float
    k: float
    force_class: str | None
    forces: tuple[CalibratedForce, ...]
    findings: tuple[str, ...]
    source: str = _CLASS_SOURCE
    certificate: str | None = None
    file: str | None = None


def result_of(found: ForceCalibration, unit: str) -> CalibrationResult:
    """The result of a calibration, with the forces of its curve in a unit."""
    fitted, lbf = found.fitted, FORCE_UNITS[unit]
    sizes = [lbf**power for power in range(len(fitted.coefficients))]
    forces = tuple(_force(found, index, point) for index, point in enumerate(found.points))
    widest = max(forces, key=lambda force: force.expanded_lbf)
    classes = [force.force_class for force in forces]
    return CalibrationResult(
        unit=unit,
        model="linear" if len(sizes) == 2 else "quadratic",  # noqa: PLR2004
        coefficients=tuple(c * size for c, size in zip(fitted.coefficients, sizes, strict=True)),
        coefficient_sd=tuple(
            math.sqrt(fitted.covariance(power, power)) * size for power, size in enumerate(sizes)
        ),
        residual_sd=fitted.residual_sd,
        dof=fitted.dof,
        r_squared=fitted.r_squared,
        f_ratio=fitted.f_ratio if math.isfinite(fitted.f_ratio) else None,
        line_lack_of_fit=_finite(found.line),
        quadratic_lack_of_fit=_finite(found.quadratic),
        resolution=found.resolution,
        reference_pct=found.reference_pct,
        zero_return=found.zero_return,
        expanded_lbf=widest.expanded_lbf,
        k=widest.k,
        force_class=None if None in classes else max(filter(None, classes), key=float),
        forces=forces,
        findings=found.findings,
    )


def _force(found: ForceCalibration, index: int, point: ForcePoint) -> CalibratedForce:
    budget = found.budget(point.applied_lbf)
    return CalibratedForce(
        **asdict(point.errors),
        applied_lbf=point.applied_lbf,
        force_class=point.force_class,
        u_lbf=budget.u,
        expanded_lbf=budget.expanded,
        k=budget.k,
        residuals_lbf=tuple(run[index] for run in found.residuals_lbf),
    )


def _finite(found: LackOfFit | None) -> LackOfFit | None:
    """The test, unless JSON cannot hold its ratio."""
    return found if found is not None and math.isfinite(found.f_ratio) else None


def certificate_of(
    result: CalibrationResult, runs: Sequence[Run], facts: CertificateFacts
) -> Certificate:
    """The certificate of a calibration."""
    lbf = FORCE_UNITS[facts.unit]
    return Certificate(
        **structs.asdict(facts),
        model="linear" if result.model == "linear" else "quadratic",
        coefficients=result.coefficients,
        residual_sd=result.residual_sd,
        coverage_factor=result.k,
        expanded_uncertainty=result.expanded_lbf / lbf,
        zero=statistics.fmean(run.zero_before for run in runs),
        zero_return=result.zero_return,
        resolution=result.resolution,
        results=tuple(
            CertificateResult(
                force=force.applied_lbf / lbf,
                error_pct=round(force.error_pct, _PLACES),
                repeatability_pct=round(force.repeatability_pct, _PLACES),
                resolution_pct=round(force.resolution_pct, _PLACES),
                expanded_uncertainty=round(force.expanded_lbf / lbf, _PLACES),
                force_class=force.force_class or "",
            )
            for force in result.forces
        ),
        points=tuple(
            CertificatePoint(
                run=number, force=force / lbf, reading=reading - run.zero_before, falling=falling
            )
            for number, run in enumerate(runs, 1)
            for falling, steps in ((False, run.rising), (True, run.falling))
            for force, reading in steps
        ),
    )


def text_of(result: CalibrationResult) -> str:
    """The result as text."""
    return "\n".join(_lines(result))


def _lines(result: CalibrationResult) -> Iterator[str]:
    yield f"{'force lbf':>10} {'error %':>9} {'repeat %':>9} {'U lbf':>9}  class"
    for force in result.forces:
        yield (
            f"{force.applied_lbf:10.1f} {force.error_pct:+9.3f} {force.repeatability_pct:9.3f} "
            f"{force.expanded_lbf:9.2f}  {force.force_class or 'none'}"
        )
    yield f"{result.model}: reading = c0 + c1 force + ..., force in {result.unit}"
    for power, (c, sd) in enumerate(zip(result.coefficients, result.coefficient_sd, strict=True)):
        yield f"  c{power} {c:+.9e}  standard deviation {sd:.3e}"
    yield f"  residual standard deviation {result.residual_sd:.6g}, {result.dof} degrees of freedom"
    for name, test in (
        ("line", result.line_lack_of_fit),
        ("quadratic", result.quadratic_lack_of_fit),
    ):
        if test is not None:
            yield f"  lack of fit of the {name}: F {test.f_ratio:.4g}, p = {test.p_value:.3g}"
    yield f"resolution {result.resolution:.6g}, zero return {result.zero_return:.6g}"
    yield f"expanded uncertainty {result.expanded_lbf:.3g} lbf or less, k = {result.k:.2f}"
    yield f"class {result.force_class or 'none'} over all forces ({result.source})"
    for finding in result.findings:
        yield f"note: {finding}"
    if result.certificate:
        yield f"certificate {result.certificate}{f' in {result.file}' if result.file else ''}"
