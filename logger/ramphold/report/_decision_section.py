"""The decision on every limit: by which rule, how probable conformity is, and the risk."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

from ramphold.method.crush_class import accepted_class
from ramphold.method.decision import LimitDecision, decide, rule_words
from ramphold.method.entered import PROPERTIES
from ramphold.method.sieving_budget import share_budgets
from ramphold.method.uncertainty import Budget, stated
from ramphold.report._document import Block, Facts, Group, Paragraph, TableRow, marked, table
from ramphold.report._format import NONE, number, psi
from ramphold.report._report_input import ReportInput
from ramphold.report._statement_section import other_results
from ramphold.sample import SIEVING


@dataclass(frozen=True, slots=True, kw_only=True)
class DecidedLimit:
    """One limit: what it is of, its unit, the decision, and the budget behind it if any."""

    what: str
    unit: str
    decision: LimitDecision
    budget: Budget | None = None


def decision_blocks(given: ReportInput) -> Iterator[Block]:
    """The rule, and the decision on each limit."""
    guard_band = given.record.sample.guard_band
    yield Paragraph(f"Decision rule: {rule_words(guard_band)}.")
    yield table(
        "Decision on each limit",
        "limit of:<1.6 | result:>0.8 | U (95 %):>0.7 | limit:<1 | decision:<1.1 | "
        "probability of conformity:>0.9 | risk of this decision:>0.8",
        (_row(one) for one in decided(given)),
        note=(
            "The risk is the probability that this decision is wrong. Where no U is known, the "
            "value alone is compared and neither is stated."
        ),
    )
    yield from _without_limit(given)


def _without_limit(given: ReportInput) -> Iterator[Block]:
    pairs = tuple(other_results(given))
    if pairs:
        yield Group(title="Results without a limit", blocks=(Facts(pairs),))


def decided(given: ReportInput) -> Iterator[DecidedLimit]:
    """Every limit that a result of the sample is compared with."""
    yield from fines_decided(given)
    yield from _sieving(given)
    bare = partial(decide, guard_band=given.record.sample.guard_band)
    for one in given.record.gravimetric:
        if one.loss is not None and (limit := one.loss.limit) is not None:
            found = bare(one.loss.loss_pct, limit.limit, upper=limit.upper)
            yield DecidedLimit(what=one.test, unit="%", decision=found)
    for value in given.record.properties:
        if (limit := value.limit) is not None:
            found = bare(value.value, limit.limit, upper=limit.upper)
            unit = PROPERTIES[value.name].unit
            yield DecidedLimit(what=value.name, unit=unit, decision=found)


def fines_decided(given: ReportInput) -> Iterator[DecidedLimit]:
    """The decision on the mean fines at each stress, lowest first."""
    evidence, limit_pct = given.evidence, given.limit_pct
    if evidence is None or limit_pct is None:
        return
    passes = {one.stress_psi: one.passes for one in evidence.stresses}
    for point, budgets in zip(evidence.found.points, given.budgets, strict=True):
        found = decide(
            point.mean_pct,
            limit_pct,
            budget=budgets.fines,
            guard_band=given.record.sample.guard_band,
        )
        # The class's own probability rests on these.
        found = replace(found, probability=passes.get(point.stress_psi))
        what = f"mean fines at {psi(point.stress_psi)} psi"
        yield DecidedLimit(what=what, unit="%", decision=found, budget=budgets.fines)


def decided_class(given: ReportInput) -> str | None:
    """The crush class by the decision rule; by simple acceptance it is that of the standard."""
    evidence = given.evidence
    if evidence is None:
        return None
    decisions = (one.decision.accepted for one in fines_decided(given))
    stresses = (point.stress_psi for point in evidence.found.points)
    return accepted_class(zip(stresses, decisions, strict=True))


def _sieving(given: ReportInput) -> Iterator[DecidedLimit]:
    record = given.record
    analysis = record.sieving.analysis
    if analysis is None:
        return
    size, allowed = record.size, record.edition.sieving[record.sample.use]
    in_size, top, pan = share_budgets(
        record.sieving.masses_g,
        size,
        step_g=given.known.balance_step(SIEVING),
        openings=record.share_openings,
    )
    for what, value, limit, upper, budget in (
        (f"share in size {size.name}", analysis.in_size_pct, allowed.in_size_pct, False, in_size),
        (f"share on No. {size.stack[0]}", analysis.oversize_pct, allowed.coarse_pct, True, top),
        ("share in the pan", analysis.pan_pct, allowed.fine_pct, True, pan),
    ):
        found = decide(
            value, limit, upper=upper, budget=budget, guard_band=record.sample.guard_band
        )
        yield DecidedLimit(what=what, unit="%", decision=found, budget=budget)
    if analysis.loss_pct is not None:
        found = decide(
            abs(analysis.loss_pct), allowed.loss_pct, guard_band=record.sample.guard_band
        )
        yield DecidedLimit(what="loss in sieving", unit="%", decision=found)


def _row(one: DecidedLimit) -> TableRow:
    found, unit = one.decision, f" {one.unit}" if one.unit else ""
    value, reach = f"{found.value:.3g}", NONE
    if one.budget is not None and one.budget.expanded:
        value, reach = stated(found.value, one.budget.expanded)
    limit = f"{found.limit:g}{unit} or {'less' if found.upper else 'more'}"
    word = "accepted" if found.accepted else "NOT accepted"
    if found.within and not found.accepted:
        why = "in the guard band" if found.guard else "its U is not known"
        word = f"NOT accepted: {why}"
    cells = (
        one.what, f"{value}{unit}", reach, limit,
        word, number(found.probability, ".3f"), number(found.risk, ".3f"),
    )  # fmt: skip
    return TableRow(cells, marked(fail=not found.accepted))
