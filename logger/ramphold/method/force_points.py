"""Runs of a force gauge against known forces, and its errors and class at each force.

The errors are those of ISO 7500-1 (6.5, from memory), of readings corrected by a curve.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.force_class import ForceErrors, best_class
from ramphold.method.force_curve import CalibrationCurve

# The force of a step may differ by this share between runs: a hand pump does not stop exactly.
_SAME = 0.02
_LEAST_RUNS, _LEAST_STEPS = 2, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One loading of the gauge.

    Attributes:
        rising: applied force in lbf and reading at each step, upwards.
        falling: the same downwards, in the order read; empty if not read. Each is compared with
            the rising step of the same force.
        zero_before: reading without a load before the run; all readings are relative to it.
        zero_after: reading without a load after the run.
    """

    rising: tuple[tuple[float, float], ...]
    falling: tuple[tuple[float, float], ...] = ()
    zero_before: float = 0.0
    zero_after: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ForcePoint:
    """One force of a calibration: mean applied force in lbf, errors, class of ISO 7500-1."""

    applied_lbf: float
    errors: ForceErrors
    force_class: str | None


def verify(
    runs: Sequence[Run],
    curve: CalibrationCurve,
    *,
    resolution: float,
    curves: Sequence[CalibrationCurve] = (),
) -> tuple[ForcePoint, ...]:
    """Errors and class at each force, with the readings corrected by a curve.

    With the previous curve of the gauge this is its as-found state.

    Args:
        runs: the runs.
        curve: corrects the readings.
        resolution: smallest step of the gauge, or its fluctuation if that is larger.
        curves: for each run the one that corrects it, where that is not the same.

    Raises:
        InputError: the runs are too few or do not match.
    """
    check_runs(runs)
    full_lbf = max(force for run in runs for force, _ in run.rising)
    left = max((run.zero_after - run.zero_before for run in runs), key=abs)
    zero_pct = 100 * left / curve.slope(0.0) / full_lbf
    corrected = tuple(zip(runs, curves or [curve] * len(runs), strict=True))
    found = []
    for index in range(len(runs[0].rising)):
        force_lbf = math.fsum(run.rising[index][0] for run in runs) / len(runs)
        resolution_pct = 100 * resolution / abs(curve.slope(force_lbf)) / force_lbf
        found.append(_point(corrected, index, resolution_pct, zero_pct))
    return tuple(found)


def _point(
    corrected: Sequence[tuple[Run, CalibrationCurve]],
    index: int,
    resolution_pct: float,
    zero_pct: float,
) -> ForcePoint:
    force_lbf = math.fsum(run.rising[index][0] for run, _ in corrected) / len(corrected)
    errors_pct = [_error_pct(curve, run, run.rising[index]) for run, curve in corrected]
    back_pct = [
        _error_pct(curve, run, falling) - error
        for (run, curve), error in zip(corrected, errors_pct, strict=True)
        for falling in run.falling
        if _same(falling[0], force_lbf)
    ]
    errors = ForceErrors(
        error_pct=math.fsum(errors_pct) / len(errors_pct),
        repeatability_pct=max(errors_pct) - min(errors_pct),
        resolution_pct=resolution_pct,
        zero_pct=zero_pct,
        reversibility_pct=max(back_pct, key=abs) if back_pct else None,
    )
    return ForcePoint(applied_lbf=force_lbf, errors=errors, force_class=best_class(errors))


def check_runs(runs: Sequence[Run]) -> None:
    """Check that runs can be compared.

    Raises:
        InputError: there are fewer than two runs or four steps, a run has other steps than the
            first, a number is not finite, or a force is not above zero.
    """
    if len(runs) < _LEAST_RUNS or len(runs[0].rising) < _LEAST_STEPS:
        raise InputError(
            f"{len(runs)} runs: expected {_LEAST_RUNS} or more, of {_LEAST_STEPS} forces or more"
        )
    for number, run in enumerate(runs, 1):
        values = (run.zero_before, run.zero_after, *itertools.chain(*run.rising, *run.falling))
        if not all(map(math.isfinite, values)) or any(force <= 0 for force, _ in run.rising):
            raise InputError(f"run {number}: expected finite readings at forces above zero")
        forces = [force for force, _ in run.rising], [force for force, _ in runs[0].rising]
        if len(forces[0]) != len(forces[1]) or not all(map(_same, *forces)):
            raise InputError(
                f"run {number} has other forces than run 1: expected the same to {_SAME:.0%}, "
                "in the same order"
            )


def _error_pct(curve: CalibrationCurve, run: Run, point: tuple[float, float]) -> float:
    force_lbf, reading = point
    return 100 * (curve.force_lbf(reading - run.zero_before) - force_lbf) / force_lbf


def _same(force_lbf: float, other_lbf: float) -> bool:
    return math.isclose(force_lbf, other_lbf, rel_tol=_SAME)
