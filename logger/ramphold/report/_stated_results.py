"""Every result of a sample but the class: its value, what its U covers, and its decision."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from statistics import stdev

from ramphold.method.decision import LimitDecision, decide
from ramphold.method.determinations import scatter_budget
from ramphold.method.entered import PROPERTIES, Entered
from ramphold.method.sieving_budget import share_budgets
from ramphold.method.uncertainty import Budget
from ramphold.report._format import psi
from ramphold.report._report_input import ReportInput
from ramphold.sample import DENSITY, SIEVING


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedResult:
    """One result.

    Attributes:
        what, unit: what it is, and its unit; empty for a plain number.
        value: unrounded.
        spec: format of the value where its U is not known.
        n: how many specimens or determinations it is the mean of.
        sd: their standard deviation; None for one alone.
        budget: its uncertainty; None where that is not known.
        covers: what U covers, in words; why there is none where it is not known.
        stress_psi: of fines.
        decision: on its limit; None without one.
    """

    what: str
    unit: str
    value: float
    spec: str = ".3g"
    n: int = 1
    sd: float | None = None
    budget: Budget | None = None
    covers: str
    stress_psi: float | None = None
    decision: LimitDecision | None = None


_ONE = "one determination shows no scatter"


def stated_results(given: ReportInput) -> Iterator[StatedResult]:
    """Each result: those that a limit belongs to first."""
    found = [*fines_results(given), *_shares(given), *_others(given)]
    yield from (one for one in found if one.decision is not None)
    yield from (one for one in found if one.decision is None)


def fines_results(given: ReportInput) -> Iterator[StatedResult]:
    """The mean fines at each stress, lowest first."""
    evidence, limit_pct = given.evidence, given.limit_pct
    if evidence is None:
        return
    passes = {one.stress_psi: one.passes for one in evidence.stresses}
    for point, budgets in zip(evidence.found.points, given.budgets, strict=True):
        decision = None
        if limit_pct is not None:
            found = _decide(given)(point.mean_pct, limit_pct, budget=budgets.fines)
            # The class's own probability rests on these.
            decision = replace(found, probability=passes.get(point.stress_psi))
        yield StatedResult(
            what=f"mean fines at {psi(point.stress_psi)} psi", unit="%", value=point.mean_pct,
            n=point.n, sd=point.sd_pct, budget=budgets.fines, decision=decision,
            covers="the sources in the section Uncertainty" if budgets.fines else _ONE,
            stress_psi=point.stress_psi,
        )  # fmt: skip


def _shares(given: ReportInput) -> Iterator[StatedResult]:
    record = given.record
    analysis = record.sieving.analysis
    if analysis is None:
        return
    size, allowed = record.size, record.edition.sieving[record.sample.use]
    in_size, top, through = share_budgets(
        record.sieving.masses_g,
        size,
        step_g=given.known.balance_step(SIEVING),
        openings=record.share_openings,
    )
    decide_on = _decide(given)
    for what, value, limit, upper, budget in (
        (f"share in size {size.name}", analysis.in_size_pct, allowed.in_size_pct, False, in_size),
        (f"share on No. {size.stack[0]}", analysis.oversize_pct, allowed.coarse_pct, True, top),
        (
            f"share through No. {size.stack[-1]}",
            analysis.undersize_pct,
            allowed.fine_pct,
            True,
            through,
        ),
    ):
        yield StatedResult(
            what=what, unit="%", value=value, budget=budget,
            covers="openings of the sieves and the balance, not another split",
            decision=decide_on(value, limit, upper=upper, budget=budget),
        )  # fmt: skip
    if (loss_pct := analysis.loss_pct) is not None:
        decision = decide_on(abs(loss_pct), allowed.loss_pct)
        yield StatedResult(
            what="loss in sieving", unit="%", value=abs(loss_pct), covers=_ONE, decision=decision
        )
    for what, mm in (("mean diameter", analysis.mean_mm), ("median diameter", analysis.median_mm)):
        if mm is not None:
            yield StatedResult(what=what, unit="mm", value=mm, spec=".3f", covers=_ONE)


def _others(given: ReportInput) -> Iterator[StatedResult]:
    record, decide_on = given.record, _decide(given)
    if (one := _bulk_density(given)) is not None:
        yield one
    for test in record.gravimetric:
        if (loss := test.loss) is not None:
            limit, decision = loss.limit, None
            if limit is not None:
                decision = decide_on(loss.loss_pct, limit.limit, upper=limit.upper)
            yield StatedResult(
                what=test.test, unit="%", value=loss.loss_pct, spec=".2f", covers=_ONE,
                decision=decision,
            )  # fmt: skip
    for value in record.properties:
        if not PROPERTIES[value.name].of_room:
            yield _entered(given, value)


def _bulk_density(given: ReportInput) -> StatedResult | None:
    bulk = given.record.density
    value, each, budget = bulk.bulk_density_g_cm3, bulk.determinations_g_cm3, None
    if value is None or bulk.cylinder is None:
        return None
    digit = given.known.balance_step(DENSITY) / bulk.cylinder.volume_cm3
    budget = scatter_budget(each, "g/cm3", of="fills", digit=digit)
    return StatedResult(
        what="loose bulk density", unit="g/cm3", value=value, spec=".3f", n=len(each),
        sd=_sd(each), budget=budget,
        covers=_ONE if budget is None else "the scatter of the fills, not another split",
    )  # fmt: skip


def _entered(given: ReportInput, found: Entered) -> StatedResult:
    kind, each = PROPERTIES[found.name], found.determinations
    of = "grains" if kind.by_grains else "determinations"
    budget = scatter_budget(each, kind.unit, of=of)
    decision = None
    if (limit := found.limit) is not None:
        decide_on = _decide(given)
        decision = decide_on(found.value, limit.limit, upper=limit.upper, budget=budget)
    return StatedResult(
        what=found.name, unit=kind.unit, value=found.value, n=max(len(each), 1), sd=_sd(each),
        budget=budget, decision=decision,
        covers=_ONE if budget is None else f"the scatter of the {of}, not instrument or eye",
    )  # fmt: skip


def _sd(each: Sequence[float]) -> float | None:
    return stdev(each) if len(each) > 1 else None


def _decide(given: ReportInput) -> Callable[..., LimitDecision]:
    return partial(decide, guard_band=given.record.sample.guard_band)
