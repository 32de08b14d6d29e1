"""The crush class: how many thousand psi a proppant withstands before it makes too many fines.

Source of the rule: ISO 13503-2:2006 11.5 and its table, from memory.
"""

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from itertools import pairwise

from ramphold.errors import InputError
from ramphold.method.fines import Replicates, summarise
from ramphold.method.limits import FINES_PCT, REPLICATES, over, under
from ramphold.units import STRESS

_STEP_PSI = 1000.0
_PSI_PER_MPA = STRESS.sizes["MPa"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StressPoint(Replicates):
    """The specimens of one stress in psi."""

    stress_psi: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CrushClass:
    """The result of a crush series.

    Attributes:
        points: each stress tested, lowest first.
        crush_class: `highest_stress_psi` truncated to whole thousands, such as `9K`; None if the
            lowest stress tested already fails, or is below 1K.
        highest_stress_psi: the greatest stress tested below the lowest that fails; None if
            there is none.
        findings: what weakens the class.
    """

    points: tuple[StressPoint, ...]
    crush_class: str | None
    highest_stress_psi: float | None
    findings: tuple[str, ...]


def classify(
    specimens: Iterable[tuple[float, float]],
    *,
    limit_pct: float = FINES_PCT,
    replicates: int = REPLICATES,
) -> CrushClass:
    """Find the crush class. The unrounded mean decides: 10.0 % passes, 10.04 % fails.

    Args:
        specimens: stress in psi and fines in % of each specimen.
        limit_pct: greatest mean fines in %.
        replicates: fewest specimens per stress.

    Raises:
        InputError: there are no specimens, or one has a stress not above zero or fines that are
            no percentage.
    """
    points = _points(specimens)
    passed = 0
    while passed < len(points) and not over(points[passed].mean_pct, limit_pct):
        passed += 1
    highest = points[passed - 1].stress_psi if passed else None
    return CrushClass(
        points=points,
        crush_class=_name(highest),
        highest_stress_psi=highest,
        findings=(*_weak(points, replicates), *_bracket(points, passed, limit_pct)),
    )


def accepted_class(stresses: Iterable[tuple[float, bool]]) -> str | None:
    """The class of the greatest stress in psi below the lowest that is not accepted.

    Args:
        stresses: each stress tested, lowest first, and whether its mean is accepted.
    """
    highest = None
    for stress_psi, accepted in stresses:
        if not accepted:
            break
        highest = stress_psi
    return _name(highest)


def _points(specimens: Iterable[tuple[float, float]]) -> tuple[StressPoint, ...]:
    by_stress: dict[float, list[float]] = {}
    for stress_psi, fines_pct in specimens:
        if not math.isfinite(stress_psi) or stress_psi <= 0:
            raise InputError(f"a stress of {stress_psi:g} psi: expected a number above zero")
        by_stress.setdefault(stress_psi, []).append(fines_pct)
    if not by_stress:
        raise InputError("no specimens: expected at least one stress with its fines")
    return tuple(
        StressPoint(stress_psi=stress_psi, **asdict(summarise(by_stress[stress_psi])))
        for stress_psi in sorted(by_stress)
    )


def _name(highest_psi: float | None) -> str | None:
    thousands = 0 if highest_psi is None else math.floor(_nominal_psi(highest_psi) / _STEP_PSI)
    return f"{thousands}K" if thousands else None


def _nominal_psi(stress_psi: float) -> float:
    """The thousand of psi that a stress stands for, if it is that one in MPa with one decimal.

    10K is 68.9 MPa, which is 9993 psi: ISO 13503-2:2006 11.5, from memory.
    """
    thousand_psi = round(stress_psi / _STEP_PSI) * _STEP_PSI
    rounded_psi = round(thousand_psi / _PSI_PER_MPA, 1) * _PSI_PER_MPA
    same = any(math.isclose(stress_psi, one) for one in (thousand_psi, rounded_psi))
    return thousand_psi if same else stress_psi


def _weak(points: tuple[StressPoint, ...], replicates: int) -> list[str]:
    """Findings on the points themselves."""
    findings = [
        f"{point.stress_psi:g} psi has n = {point.n}: expected {replicates} specimens or more"
        for point in points
        if point.n < replicates
    ]
    findings += [
        f"the fines fall from {lower.mean_pct:.2f} % at {lower.stress_psi:g} psi "
        f"to {higher.mean_pct:.2f} % at {higher.stress_psi:g} psi"
        for lower, higher in pairwise(points)
        if under(higher.mean_pct, lower.mean_pct)
    ]
    return findings


def _bracket(points: tuple[StressPoint, ...], passed: int, limit_pct: float) -> list[str]:
    """Findings on where the limit lies; the first `passed` points are within it."""
    findings = []
    if passed == 0:
        findings.append(
            f"the lowest stress tested, {points[0].stress_psi:g} psi, "
            f"already makes more than {limit_pct:g} % fines"
        )
    elif _nominal_psi(points[passed - 1].stress_psi) < _STEP_PSI:
        findings.append(f"{points[passed - 1].stress_psi:g} psi passes, but is under 1K")
    if passed == len(points):
        findings.append(
            f"no stress tested makes more than {limit_pct:g} % fines: "
            "the class is only a lower bound"
        )
    elif passed:
        below, above = points[passed - 1].stress_psi, points[passed].stress_psi
        if over(_nominal_psi(above) - _nominal_psi(below), _STEP_PSI):
            findings.append(
                f"nothing tested between {below:g} and {above:g} psi: the class may be higher"
            )
    return findings
