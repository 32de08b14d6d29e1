"""Calibration of a force gauge against known forces: curve, errors, class, uncertainty.

The class is that of ISO 7500-1 for readings corrected by the curve. The requirements on the runs
(three or more, five forces or more, from 20 % of the greatest) are from memory.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ramphold.method.force_curve import CalibrationCurve
from ramphold.method.force_points import ForcePoint, Run, check_runs, verify
from ramphold.method.lack_of_fit import LackOfFit, lack_of_fit
from ramphold.method.limits import over
from ramphold.method.regression import Fit, fit
from ramphold.method.uncertainty import Budget, Component, Shape, bounded, combine, step

# A curve is rejected if chance gives its lack of fit less often than this.
_LEAST_P = 0.05
_RUNS, _FORCES, _LOWEST_SHARE = 3, 5, 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class ForceCalibration:
    """The result of a calibration.

    Attributes:
        curve: corrects readings from now on.
        fitted: the least-squares fit behind it: reading over applied force.
        line, quadratic: lack of fit of each; `quadratic` is None if the line was good enough,
            and either is None if it cannot be tested.
        points: each force, in the order applied.
        residuals_lbf: for each run, corrected reading less applied force.
        resolution: of the gauge, in its own unit.
        reference_pct: standard uncertainty of the applied force in % of it.
        zero_return: greatest change of the reading without a load, in the gauge's unit.
        findings: what weakens the calibration.
    """

    curve: CalibrationCurve
    fitted: Fit
    line: LackOfFit | None
    quadratic: LackOfFit | None
    points: tuple[ForcePoint, ...]
    residuals_lbf: tuple[tuple[float, ...], ...]
    resolution: float
    reference_pct: float
    zero_return: float
    findings: tuple[str, ...]

    def budget(self, force_lbf: float) -> Budget:
        """Uncertainty of one corrected reading at a force, in lbf."""
        per_unit = 1 / abs(self.curve.slope(force_lbf))
        falling_pct = max(abs(p.errors.reversibility_pct or 0.0) for p in self.points)
        scatter = Component(
            name="curve and scatter of a reading",
            u=self.fitted.u_at(force_lbf, single=True) * per_unit,
            dof=self.fitted.dof,
            shape=Shape.READINGS,
        )
        return combine(
            force_lbf,
            "lbf",
            (
                Component(name="applied force", u=force_lbf * self.reference_pct / 100),
                scatter,
                step("gauge step under load", self.resolution * per_unit),
                step("gauge step at zero", self.resolution * per_unit, -1.0),
                bounded("zero return", self.zero_return * per_unit),
                # The falling reading lies on one side only, so half of it is the half-width.
                bounded("reversibility", force_lbf * falling_pct / 200),
            ),
        )


def calibrate(runs: Sequence[Run], *, resolution: float, reference_pct: float) -> ForceCalibration:
    """Calibrate a gauge: by a straight line if it fits as well as the runs agree.

    Each run's errors are those that a curve through the other runs leaves (cross-validation): a
    curve always fits the runs that it was fitted to better than the next ones.

    Args:
        runs: two or more, over the same forces in the same order.
        resolution: smallest step of the gauge, or its fluctuation if that is larger.
        reference_pct: standard uncertainty of the applied force in % of it.

    Raises:
        InputError: the runs are too few, do not match, or determine no curve.
    """
    check_runs(runs)
    steps = [index for run in runs for index in range(len(run.rising))]
    applied = [force for run in runs for force, _ in run.rising]
    readings = [reading - run.zero_before for run in runs for _, reading in run.rising]
    fitted = fit(applied, readings, degree=1)
    line, quadratic = lack_of_fit(fitted, applied, readings, steps), None
    if line is not None and line.p_value < _LEAST_P:
        fitted = fit(applied, readings, degree=2)
        quadratic = lack_of_fit(fitted, applied, readings, steps)
    curve = _curve(fitted)
    without = [_without(runs, at, len(fitted.coefficients) - 1) for at in range(len(runs))]
    points = verify(runs, curve, resolution=resolution, curves=without)
    return ForceCalibration(
        curve=curve,
        fitted=fitted,
        line=line,
        quadratic=quadratic,
        points=points,
        residuals_lbf=tuple(
            tuple(curve.force_lbf(y - run.zero_before) - force for force, y in run.rising)
            for run in runs
        ),
        resolution=resolution,
        reference_pct=reference_pct,
        zero_return=max(abs(run.zero_after - run.zero_before) for run in runs),
        findings=tuple(_findings(runs, points, quadratic)),
    )


def _curve(fitted: Fit) -> CalibrationCurve:
    c0, c1, c2 = (*fitted.coefficients, 0.0)[:3]
    return CalibrationCurve(c0=c0, c1=c1, c2=c2, low_lbf=fitted.low, high_lbf=fitted.high)


def _without(runs: Sequence[Run], left_out: int, degree: int) -> CalibrationCurve:
    """The curve through all runs but one."""
    others = [run for at, run in enumerate(runs) if at != left_out]
    applied = [force for run in others for force, _ in run.rising]
    readings = [reading - run.zero_before for run in others for _, reading in run.rising]
    return _curve(fit(applied, readings, degree=degree))


def _findings(
    runs: Sequence[Run], points: Sequence[ForcePoint], quadratic: LackOfFit | None
) -> Iterator[str]:
    if len(runs) < _RUNS:
        yield f"{len(runs)} runs: expected {_RUNS} or more"
    if len(points) < _FORCES:
        yield f"{len(points)} forces: expected {_FORCES} or more"
    applied_lbf = [point.applied_lbf for point in points]
    if over(min(applied_lbf), _LOWEST_SHARE * max(applied_lbf)):
        yield (
            f"the lowest force is {min(applied_lbf):g} lbf: "
            f"expected {_LOWEST_SHARE:.0%} of {max(applied_lbf):g} lbf or less"
        )
    if quadratic is not None and quadratic.p_value < _LEAST_P:
        yield f"even the quadratic does not fit the readings (p = {quadratic.p_value:.2g})"
    for point in points:
        if point.force_class is None:
            yield f"{point.applied_lbf:g} lbf reaches no class of ISO 7500-1"
