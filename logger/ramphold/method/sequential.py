"""Which stress to crush at next, and how many specimens until the class is decided.

The search halves what is left of the class: it asks for the stress whose outcome is most open.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ramphold.method.class_evidence import ClassEvidence, weigh_class
from ramphold.method.distributions import t_cdf, t_quantile
from ramphold.method.fines_curve import FinesCurve, fit_fines
from ramphold.method.limits import FINES_PCT, REPLICATES
from ramphold.method.log_odds import log_odds
from ramphold.method.precision import Spread

__all__ = ["NextTest", "Search", "next_test", "specimens_needed"]

_EVEN = 0.5
_MOST = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """What a search for the class keeps to.

    Attributes:
        ladder_psi: the stresses that may be asked for in psi, lowest first.
        replicates: specimens at the stresses that decide.
        confidence: probability of the class at which it counts as decided.
        limit_pct: greatest mean fines in %.
    """

    ladder_psi: tuple[float, ...] = tuple(1000.0 * step for step in range(1, 16))
    replicates: int = REPLICATES
    confidence: float = 0.95
    limit_pct: float = FINES_PCT


@dataclass(frozen=True, slots=True, kw_only=True)
class NextTest:
    """What to crush next: at which stress in psi, how many specimens, and why."""

    stress_psi: float
    specimens: int
    reason: str


def specimens_needed(
    distance_pct: float, spread: Spread, *, confidence: float = 0.95
) -> int | None:
    """How many specimens at one stress tell on which side of the limit its mean lies.

    Args:
        distance_pct: how far the mean lies from the limit in %, taken to stay so.
        spread: of a single specimen about the limit, in %.
        confidence: probability that the side is the right one.

    Returns:
        None for a mean so near the limit that a hundred would not decide.
    """
    reach = t_quantile(confidence, spread.dof) * spread.sd
    if reach > math.sqrt(_MOST) * abs(distance_pct):
        return None
    return max(math.ceil((reach / distance_pct) ** 2), 1) if reach else 1


def next_test(
    specimens: Iterable[tuple[float, float]],
    search: Search | None = None,
    *,
    laboratory: Spread | None = None,
) -> NextTest | None:
    """What to crush next to decide the class: first enclose it, then fill up, then make sure.

    Looking again after each specimen, and stopping once it suffices, makes the confidence a little
    less than it says.

    Args:
        specimens: stress in psi and fines in % of each specimen so far; none to begin with.
        search: what to keep to.
        laboratory: spread in % that single specimens about the limit have here.

    Returns:
        None once the class is decided, or where nothing is known of the spread.

    Raises:
        InputError: a specimen whose stress or fines are not finite.
    """
    search = search or Search()
    held = tuple(specimens)
    evidence = (
        weigh_class(held, limit_pct=search.limit_pct, laboratory=laboratory) if held else None
    )
    curve = fit_fines(held, search.limit_pct)
    return _enclose(evidence, curve, search) or (
        None if evidence is None else _fill(evidence, search) or _make_sure(evidence, search)
    )


def _enclose(
    evidence: ClassEvidence | None, curve: FinesCurve | None, search: Search
) -> NextTest | None:
    """The most open of the stresses between the greatest that passes and the lowest that fails."""
    passed = (evidence and evidence.found.highest_stress_psi) or 0.0
    failed = math.inf
    if evidence is not None:
        above = (p.stress_psi for p in evidence.found.points if p.stress_psi > passed)
        failed = next(above, math.inf)
    rungs = [stress for stress in search.ladder_psi if passed < stress < failed]
    if not rungs:
        return None
    if curve is None:
        # Nothing but the order is known: the middle of what is left, the lower one of two.
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
    """Probability by the curve that the mean fines at a stress keep to the limit."""
    x = math.log(stress_psi)
    gap, u = log_odds(limit_pct) - curve.line.at(x), curve.line.u_at(x)
    return t_cdf(gap / u, curve.line.dof) if u else float(gap >= 0)


def _fill(evidence: ClassEvidence, search: Search) -> NextTest | None:
    """What a stress that decides lacks in specimens."""
    for point in evidence.deciding_points:
        if point.n < search.replicates:
            return NextTest(
                stress_psi=point.stress_psi,
                specimens=search.replicates - point.n,
                reason=f"{point.n} of {search.replicates} specimens are crushed there",
            )
    return None


def _make_sure(evidence: ClassEvidence, search: Search) -> NextTest | None:
    """More specimens where the mean lies too near the limit for its spread."""
    found, spread = evidence.found, evidence.spread
    sure = evidence.probability(found.crush_class)
    if spread is None or sure >= search.confidence:
        return None
    odds, point = min(
        zip(evidence.deciding, evidence.deciding_points, strict=True),
        key=lambda pair: abs(pair[0].passes - _EVEN),
    )
    needed = specimens_needed(odds.distance_pct, spread, confidence=search.confidence)
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
