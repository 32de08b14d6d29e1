"""The next stress to crush at, and how many specimens decide the class.

The search bisects: it picks the stress with the most uncertain outcome.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

from ramphold.method.class_evidence import ClassEvidence, doubted, mean_spread, weigh_class
from ramphold.method.deviation import Deviation
from ramphold.method.distributions import t_cdf
from ramphold.method.fines_curve import FinesCurve, fit_fines
from ramphold.method.limits import FINES_PCT, REPLICATES
from ramphold.method.log_odds import log_odds
from ramphold.method.precision import Precision, Spread
from ramphold.method.uncertainty import Component

_EVEN = 0.5
_MOST = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """The settings of a search for the class.

    Attributes:
        ladder_psi: the stresses to choose from in psi, lowest first.
        replicates: specimens at the deciding stresses.
        confidence: probability at which the class counts as decided.
        limit_pct: greatest mean fines in %.
    """

    ladder_psi: tuple[float, ...] = tuple(1000.0 * step for step in range(1, 16))
    replicates: int = REPLICATES
    confidence: float = 0.95
    limit_pct: float = FINES_PCT


@dataclass(frozen=True, slots=True, kw_only=True)
class NextTest:
    """The next test: stress in psi, number of specimens, and reason."""

    stress_psi: float
    specimens: int
    reason: str


def specimens_needed(
    distance_pct: float,
    spread: Spread,
    between: Spread | None = None,
    *,
    sieves: Deviation | None = None,
    confidence: float = 0.95,
) -> int | None:
    """How many specimens at one stress show on which side of the limit its mean lies.

    Args:
        distance_pct: distance of the mean from the limit in %, assumed constant.
        spread: of a single specimen near the limit, in %.
        between: of the mean from one day and split to the next, in %, which specimens of one day
            do not lessen.
        sieves: what the openings of the sieves do to every mean, which no specimens lessen.
        confidence: probability that the side is right.

    Returns:
        None if the mean is so near the limit that a hundred would not decide.
    """
    common = sieves or Deviation(u=0.0)
    for n in range(1, _MOST + 1):
        under = doubted(mean_spread(n, spread, between), common, n).within(distance_pct)
        if max(under, 1 - under) >= confidence:
            return n
    return None


def next_test(
    specimens: Iterable[tuple[float, float]],
    search: Search | None = None,
    *,
    laboratory: Precision | None = None,
    sieves: Iterable[Component] = (),
) -> NextTest | None:
    """The next test: first bracket the class, then complete the replicates, then gain confidence.

    Deciding again after every specimen, and stopping when it suffices, makes the true confidence a
    little less than the nominal one.

    Args:
        specimens: stress in psi and fines in % of each specimen so far; none at the start.
        search: the settings.
        laboratory: the precision in % near the limit in this laboratory.
        sieves: what the openings of the sieves do to a specimen near the limit, in %.

    Returns:
        None when the class is decided, if no spread is known, or if only the openings of the
        sieves leave it open, which no specimen can tell.

    Raises:
        InputError: stress or fines of a specimen are not finite.
    """
    search = search or Search()
    held = tuple(specimens)
    evidence = (
        weigh_class(held, limit_pct=search.limit_pct, laboratory=laboratory, sieves=sieves)
        if held
        else None
    )
    curve = fit_fines(held, search.limit_pct)
    return _enclose(evidence, curve, search) or (
        None if evidence is None else _fill(evidence, search) or _make_sure(evidence, search)
    )


def _enclose(
    evidence: ClassEvidence | None, curve: FinesCurve | None, search: Search
) -> NextTest | None:
    """The most uncertain stress between the greatest that passes and the lowest that fails."""
    passed = (evidence and evidence.found.highest_stress_psi) or 0.0
    failed = math.inf
    if evidence is not None:
        above = (p.stress_psi for p in evidence.found.points if p.stress_psi > passed)
        failed = next(above, math.inf)
    rungs = [stress for stress in search.ladder_psi if passed < stress < failed]
    if not rungs:
        return None
    if curve is None:
        # Only the order is known: take the middle one, or the lower of two.
        stress_psi = rungs[(len(rungs) - 1) // 2]
    else:
        stress_psi = min(
            rungs, key=lambda stress: abs(_passes(curve, stress, search.limit_pct) - _EVEN)
        )
    return NextTest(
        stress_psi=stress_psi,
        specimens=search.replicates,
        reason=f"{len(rungs)} stresses are still open",
    )


def _passes(curve: FinesCurve, stress_psi: float, limit_pct: float) -> float:
    """Probability by the curve that the mean fines at a stress are within the limit."""
    x = math.log(stress_psi)
    gap, u = log_odds(limit_pct) - curve.line.at(x), curve.line.u_at(x)
    return t_cdf(gap / u, curve.line.dof) if u else float(gap >= 0)


def _fill(evidence: ClassEvidence, search: Search) -> NextTest | None:
    """The specimens that a deciding stress lacks."""
    for point in evidence.deciding_points:
        if point.n < search.replicates:
            return NextTest(
                stress_psi=point.stress_psi,
                specimens=search.replicates - point.n,
                reason=f"{point.n} of {search.replicates} specimens are crushed there",
            )
    return None


def _make_sure(evidence: ClassEvidence, search: Search) -> NextTest | None:
    """More specimens where the mean is too near the limit for its spread."""
    found, spread = evidence.found, evidence.spread
    sure = evidence.probability(found.crush_class)
    if spread is None or sure >= search.confidence:
        return None
    odds, point = min(
        zip(evidence.deciding, evidence.deciding_points, strict=True),
        key=lambda pair: abs(pair[0].passes - _EVEN),
    )
    enough = partial(
        specimens_needed, odds.distance_pct, spread, evidence.between, confidence=search.confidence
    )
    needed = enough(sieves=evidence.sieves)
    if needed is None and enough() is not None:
        return None
    lacking = search.replicates if needed is None else max(needed - point.n, 1)
    return NextTest(
        stress_psi=odds.stress_psi,
        specimens=min(lacking, search.replicates),
        reason=f"{found.crush_class or 'no class'} has a probability of {sure:.2f}; "
        + (
            "a hundred specimens would not decide"
            if needed is None
            else f"about {needed} would decide"
        ),
    )
