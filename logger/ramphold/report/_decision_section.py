"""The decision on every limit: by which rule, how probable conformity is, and the risk."""

from collections.abc import Iterable, Iterator

from ramphold.method.crush_class import accepted_class
from ramphold.method.decision import LimitDecision, rule_words
from ramphold.method.limits import limit_words
from ramphold.method.uncertainty import stated
from ramphold.report._document import Block, Facts, Group, Paragraph, TableRow, marked, table
from ramphold.report._format import NONE, number, printed_unit, probability
from ramphold.report._report_input import ReportInput
from ramphold.report._stated_results import StatedResult, fines_results, stated_results


def decision_blocks(given: ReportInput) -> Iterator[Block]:
    """The rule, and the decision on each limit."""
    guard_band, found = given.record.sample.guard_band, tuple(stated_results(given))
    yield Paragraph(f"Decision rule: {rule_words(guard_band)}.")
    yield table(
        "Decision on each limit",
        "limit of:<1.6 | result:>0.8 | U (95 %):>0.7 | limit:<1 | decision:<1.1 | "
        "probability of conformity:>0.9 | risk of this decision:>0.8",
        (_row(one, one.decision) for one in found if one.decision is not None),
        note=(
            "The risk is the probability that this decision is wrong. Where no U is known, as with "
            "one determination, the value alone is compared and neither is stated."
        ),
    )
    yield from _without_limit(found)


def _without_limit(found: Iterable[StatedResult]) -> Iterator[Block]:
    pairs = tuple((one.what.capitalize(), _with_u(one)) for one in found if one.decision is None)
    if pairs:
        yield Group(title="Results without a limit", blocks=(Facts(pairs),))


def _with_u(one: StatedResult) -> str:
    """A result with its U by the scatter, if that is known."""
    unit = printed_unit(one.unit)
    if one.budget is None:
        return f"{number(one.value, one.spec)} {unit} (U not known)"
    value, reach = stated(one.value, one.budget.expanded)
    return f"{value} ± {reach} {unit} (n = {one.n}, scatter alone)"


def decided_class(given: ReportInput) -> str | None:
    """The crush class by the decision rule; by simple acceptance it is that of the standard."""
    evidence = given.evidence
    if evidence is None:
        return None
    decisions = (one.decision is not None and one.decision.accepted for one in fines_results(given))
    stresses = (point.stress_psi for point in evidence.found.points)
    return accepted_class(zip(stresses, decisions, strict=True))


def _row(one: StatedResult, found: LimitDecision) -> TableRow:
    unit = f" {printed_unit(one.unit)}" if one.unit else ""
    value, reach = f"{found.value:.3g}", NONE
    if one.budget is not None and one.budget.expanded:
        value, reach = stated(found.value, one.budget.expanded)
        reach += unit
    limit = limit_words(found.limit, printed_unit(one.unit), upper=found.upper)
    word = "accepted" if found.accepted else "NOT accepted"
    if found.within and not found.accepted:
        why = "in the guard band" if found.guard else "its U is not known"
        word = f"NOT accepted: {why}"
    cells = (
        one.what, f"{value}{unit}", reach, limit,
        word, probability(found.probability), probability(found.risk),
    )  # fmt: skip
    return TableRow(cells, marked(fail=not found.accepted))
