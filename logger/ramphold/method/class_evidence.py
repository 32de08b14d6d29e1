"""How certain a crush class is: the distance to the limit against the spread of specimens.

The probability of a class is that the true fines of the sample, as sieves of nominal openings would
show them on the average of splits, days, operators and presses, are within the limit at its stress
and all lower ones tested, and not at the next. It is not that a repeat gives this class, which is
stated beside it. The model behind it is in `class_posterior`.
"""

import math
import operator
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from ramphold.method.class_question import ClassQuestion, Replicated, Scatter
from ramphold.method.crush_class import CrushClass, StressPoint, classify
from ramphold.method.deviation import Deviation
from ramphold.method.limits import FINES_PCT, MOST_BLANK_PCT
from ramphold.method.log_odds import spread_at_limit
from ramphold.method.precision import Precision, Spread
from ramphold.method.sieve_openings import SievePair

if TYPE_CHECKING:
    from ramphold.method.class_posterior import ClassPosterior

# Ours: below this probability, or with fewer degrees of freedom, the evidence is called thin.
_SURE = 0.9
_FEW_DOF = 4
# A class is said to be likelier than the one by the rule from this much on.
_NOTABLE = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class StressOdds:
    """The odds at one stress.

    Attributes:
        stress_psi: the stress in psi.
        distance_pct: how far the mean fines are under the limit, in %; negative if over it.
        deviation: of the mean from the truth, without what the other stresses say of it.
        passes: probability that the true fines are within the limit, here and at lower stresses.
    """

    stress_psi: float
    distance_pct: float
    deviation: Deviation
    passes: float

    @property
    def u_pct(self) -> float:
        """Standard uncertainty of the mean; what it is not corrected for counts in full."""
        return self.deviation.rms

    @property
    def interval_pct(self) -> float:
        """How far its 95 % interval reaches to either side."""
        return self.deviation.reach(0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassOdds:
    """The odds of one class.

    Attributes:
        crush_class: such as `9K`; None for below the lowest.
        probability: that the true mean fines have this class, among the stresses tested.
        repeat: probability that a repeat of the test, with as many specimens, gives it.
    """

    crush_class: str | None
    probability: float
    repeat: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassEvidence:
    """The evidence for a class.

    Attributes:
        found: the class by the rule.
        spread: of a single specimen near the limit, in %; None if it is not known.
        between: of the mean from one day and split to the next, in %; None if it is not known.
        question: what the probabilities are worked out from; None without a spread.
        sieves: what the sieves do to every mean, in %, as the specimens let it be seen.
        stresses: each stress tested, lowest first; empty without a spread.
        classes: each class that the tested stresses can give, lowest first; empty likewise.
        findings: where the evidence is thin, besides the findings of `found`.
    """

    found: CrushClass
    spread: Spread | None
    between: Spread | None
    question: ClassQuestion | None
    sieves: Deviation
    stresses: tuple[StressOdds, ...]
    classes: tuple[ClassOdds, ...]
    findings: tuple[str, ...]

    @property
    def deciding(self) -> tuple[StressOdds, ...]:
        """The greatest stress that passes and the lowest that fails, if there are both."""
        return self.stresses[_deciding(self.found)]

    @property
    def deciding_points(self) -> tuple[StressPoint, ...]:
        """The same stresses as the rule sees them, with or without a known spread."""
        return self.found.points[_deciding(self.found)]

    def probability(self, crush_class: str | None) -> float:
        """The probability of a class; 0 if the tested stresses cannot give it."""
        return math.fsum(c.probability for c in self.classes if c.crush_class == crush_class)


def weigh_class(
    specimens: Iterable[tuple[float, float]],
    *,
    limit_pct: float = FINES_PCT,
    laboratory: Precision | None = None,
    sieves: SievePair | None = None,
) -> ClassEvidence:
    """Weigh the evidence for the crush class of a series.

    Args:
        specimens: stress in psi and fines in % of each.
        limit_pct: greatest mean fines in %.
        laboratory: the precision in % near the limit in this laboratory, as from a control sand.
            Its spread is pooled with that of the series itself.
        sieves: the pair of sieves of all specimens.

    Raises:
        InputError: no specimens, or one whose stress or fines are not finite.
    """
    return _weighed(tuple(specimens), limit_pct, laboratory, sieves)


@lru_cache(maxsize=16)  # screen and report ask for the same sample's again and again
def _weighed(
    held: tuple[tuple[float, float], ...],
    limit_pct: float,
    laboratory: Precision | None,
    sieves: SievePair | None,
) -> ClassEvidence:
    found = classify(held, limit_pct=limit_pct)
    within, between = (laboratory.within, laboratory.between) if laboratory else (None, None)
    spread = _pooled(spread_at_limit(held, limit_pct), within)
    if spread is None:
        return ClassEvidence(
            found=found,
            spread=None,
            between=between,
            question=None,
            sieves=Deviation(u=0.0),
            stresses=(),
            classes=(),
            findings=(_no_spread(found),),
        )
    scatter = Scatter(spread=spread, control=within, between=between)
    points = tuple(map(_replicated, found.points))
    question = ClassQuestion(stresses=points, scatter=scatter, sieves=sieves, limit_pct=limit_pct)
    posterior = posterior_of(question)
    common = posterior.sieves(limit_pct)
    stresses = _stresses(found, question, common, posterior.passes.tolist())
    # A repeat on the same sieves deviates from the truth as this series does, and but for the
    # sieves independently of it.
    again = (
        _at_most(one.distance_pct, mean_spread(point.n, spread, between))
        for one, point in zip(stresses, found.points, strict=True)
    )
    classes = _classes(stresses, tuple(accumulate(again, operator.mul)))
    may_pass_pct = 0.0 if sieves is None or sieves.blanks_pct else max(common.amounts)
    return ClassEvidence(
        found=found,
        spread=spread,
        between=between,
        question=question,
        sieves=common,
        stresses=stresses,
        classes=classes,
        findings=tuple(_thin(found, spread, laboratory, may_pass_pct, classes)),
    )


def _stresses(
    found: CrushClass, question: ClassQuestion, common: Deviation, passes: Sequence[float]
) -> tuple[StressOdds, ...]:
    scatter = question.scatter
    return tuple(
        StressOdds(
            stress_psi=point.stress_psi,
            distance_pct=question.limit_pct - point.mean_pct,
            deviation=doubted(
                mean_spread(point.n, scatter.spread, scatter.between), common, point.n
            ),
            passes=probability,
        )
        for point, probability in zip(found.points, passes, strict=True)
    )


def posterior_of(question: ClassQuestion) -> "ClassPosterior":
    """What is known of the true fines at each stress."""
    # numpy, which the screen does not load to start.
    from ramphold.method.class_posterior import class_posterior  # noqa: PLC0415

    return class_posterior(question)


def _replicated(point: StressPoint) -> Replicated:
    variance = 0.0 if point.sd_pct is None else point.sd_pct**2
    return Replicated(
        stress_psi=point.stress_psi, mean_pct=point.mean_pct, n=point.n, variance=variance
    )


def doubted(mean: Spread, common: Deviation, n: int) -> Deviation:
    """The deviation of a mean of `n`, by its own spread and by what the sieves do to specimens."""
    u = math.hypot(mean.sd, common.u)
    dof = mean.dof * (u / mean.sd) ** 4 if mean.sd else math.inf
    return replace(common, u=u, dof=dof, share=common.share / math.sqrt(n))


def _no_spread(found: CrushClass) -> str:
    if all(point.n < 2 for point in found.points):  # noqa: PLR2004 - one alone has no spread
        return "no stress has two specimens: nothing is known of their spread"
    return "no stress has two specimens with fines above zero: nothing is known of their spread"


def _deciding(found: CrushClass) -> slice:
    highest_psi = found.highest_stress_psi or 0.0
    passed = sum(point.stress_psi <= highest_psi for point in found.points)
    return slice(max(passed - 1, 0), passed + 1)


def mean_spread(n: int, spread: Spread, between: Spread | None) -> Spread:
    """The spread in % of a mean of `n` specimens of one day and split.

    Source of its degrees of freedom: Welch and Satterthwaite, JCGM 100:2008 G.4.1, from memory.
    """
    single = spread.sd**2 / n
    variance = single
    parts = single**2 / spread.dof
    if between is not None and between.sd:
        variance += between.sd**2
        parts += between.sd**4 / between.dof
    return Spread(sd=math.sqrt(variance), dof=variance**2 / parts if parts else math.inf)


def _pooled(*spreads: Spread | None) -> Spread | None:
    known = [spread for spread in spreads if spread is not None]
    endless = [spread for spread in known if math.isinf(spread.dof)]
    if len(known) < 2 or endless:  # noqa: PLR2004 - there is nothing to pool
        return next(iter(endless or known), None)
    dof = math.fsum(spread.dof for spread in known)
    variance = math.fsum(spread.dof * spread.sd**2 for spread in known) / dof
    return Spread(sd=math.sqrt(variance), dof=dof)


def _at_most(gap_pct: float, mean: Spread) -> float:
    """Probability that a repeat of the same number of specimens is within the limit."""
    return Deviation(u=mean.sd * math.sqrt(2), dof=mean.dof).within(gap_pct)


def _classes(stresses: Sequence[StressOdds], repeat: Sequence[float]) -> tuple[ClassOdds, ...]:
    """Each class with its odds: that every stress up to its own passes, and the next one fails."""
    odds: dict[str | None, tuple[float, float]] = {}
    names = (None, *(class_at(stress.stress_psi) for stress in stresses))
    truth = [one.passes for one in stresses]
    steps = zip(names, pairwise((1.0, *truth, 0.0)), pairwise((1.0, *repeat, 0.0)), strict=True)
    for name, (true_here, true_next), (again_here, again_next) in steps:
        before = odds.get(name, (0.0, 0.0))
        odds[name] = (before[0] + true_here - true_next, before[1] + again_here - again_next)
    return tuple(
        ClassOdds(crush_class=name, probability=probability, repeat=again)
        for name, (probability, again) in odds.items()
    )


def class_at(stress_psi: float) -> str | None:
    """The class that a stress in psi gives, such as `9K`; None below 1K."""
    return classify([(stress_psi, 0.0)]).crush_class


def _thin(
    found: CrushClass,
    spread: Spread,
    laboratory: Precision | None,
    may_pass_pct: float,
    classes: Sequence[ClassOdds],
) -> Iterator[str]:
    if spread.dof < _FEW_DOF:
        yield f"the spread rests on {spread.dof:g} degrees of freedom: expected {_FEW_DOF} or more"
    if laboratory is None or laboratory.between is None:
        yield (
            "nothing is known of the deviation from one day and split to the next: the "
            "probabilities hold for these specimens' day and split alone"
        )
    elif remembered := [one for one in laboratory.sources if not one.known]:
        said = ", ".join(f"{one.name} {one.spread.sd:g} %" for one in remembered)
        yield f"from memory, since the control sand has not shown it, is the deviation of {said}"
    if may_pass_pct > MOST_BLANK_PCT:
        yield (
            f"the openings of the sieves let up to {may_pass_pct:.1f} % of whole grains be "
            "weighed as fines: a blank tells how many do"
        )
    sure = math.fsum(c.probability for c in classes if c.crush_class == found.crush_class)
    if sure < _SURE:
        name = found.crush_class or "no class"
        likeliest = max(classes, key=lambda one: one.probability)
        other = ""
        if likeliest.probability > sure + _NOTABLE:
            other = f"; {likeliest.crush_class or 'no class'} has {likeliest.probability:.2f}"
        yield f"{name} has a probability of {sure:.2f}: expected {_SURE:g} or more{other}"
