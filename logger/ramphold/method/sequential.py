"""The next stress to crush at, and how many specimens decide the class.

The search bisects: it picks the stress with the most uncertain outcome.
"""

import math
from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, replace

from ramphold.method.class_evidence import ClassEvidence, posterior_of, weigh_class
from ramphold.method.class_question import ClassQuestion
from ramphold.method.distributions import t_cdf
from ramphold.method.fines_curve import FinesCurve, fit_fines
from ramphold.method.limits import FINES_PCT, REPLICATES
from ramphold.method.log_odds import log_odds
from ramphold.method.precision import Precision
from ramphold.method.sieve_openings import SievePair

_EVEN = 0.5
_MOST = 100
_COUNTS = range(1, _MOST + 1)


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


def specimens_needed(question: ClassQuestion, at: int, *, confidence: float = 0.95) -> int | None:
    """How many specimens at one stress show on which side of the limit its true fines lie.

    Means, and the scatter of specimens about them, are assumed to stay as they are.

    Args:
        question: what is known so far.
        at: the place of the stress in it.
        confidence: probability at which the side counts as shown.

    Returns:
        None if the mean is so near the limit that a hundred would not decide.
    """

    def decides(n: int) -> bool:
        stresses = list(question.stresses)
        stresses[at] = replace(stresses[at], n=n)
        passes = float(posterior_of(replace(question, stresses=tuple(stresses))).passes[at])
        return max(passes, 1 - passes) >= confidence

    return bisect_left(_COUNTS, True, key=decides) + 1 if decides(_MOST) else None  # noqa: FBT003


def next_test(
    specimens: Iterable[tuple[float, float]],
    search: Search | None = None,
    *,
    laboratory: Precision | None = None,
    sieves: SievePair | None = None,
) -> NextTest | None:
    """The next test: first bracket the class, then complete the replicates, then gain confidence.

    Deciding again after every specimen, and stopping when it suffices, makes the true confidence a
    little less than the nominal one.

    Args:
        specimens: stress in psi and fines in % of each specimen so far; none at the start.
        search: the settings.
        laboratory: the precision in % near the limit in this laboratory.
        sieves: the pair of sieves of all specimens.

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
    found, question = evidence.found, evidence.question
    sure = evidence.probability(found.crush_class)
    if question is None or sure >= search.confidence:
        return None
    odds, point = min(
        zip(evidence.deciding, evidence.deciding_points, strict=True),
        key=lambda pair: abs(pair[0].passes - _EVEN),
    )
    at = found.points.index(point)
    needed = specimens_needed(question, at, confidence=search.confidence)
    if needed is None:
        bare = replace(question, sieves=None)
        if specimens_needed(bare, at, confidence=search.confidence) is not None:
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
