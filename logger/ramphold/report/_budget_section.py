"""The uncertainty budgets, line by line."""

import math
from collections.abc import Iterator, Sequence

from ramphold.method.class_draws import classes_by_draws
from ramphold.method.class_evidence import ClassEvidence, class_at
from ramphold.method.monte_carlo import DRAWS, Propagated, fines_by_draws
from ramphold.method.ramp_rate import ramp_rate_budget, ramp_rate_by_draws
from ramphold.method.uncertainty import Budget, stated
from ramphold.report._document import Block, Bullets, Emphasis, Group, Paragraph, TableRow, table
from ramphold.report._format import NONE, number, psi, significant
from ramphold.report._measured_ramp import measured_ramp
from ramphold.report._report_input import ReportInput
from ramphold.report._uncertainty import StressBudgets

_SEED = 1
_DRAWN = (
    f"by propagation of distributions (JCGM 101:2008, {DRAWS // 1_000_000} million draws, seed "
    f"{_SEED})"
)
# Smaller shares of a class are not named.
_SHOWN = 0.0005


def budget_blocks(given: ReportInput) -> Iterator[Block]:
    """Every budget of the deciding stresses, and what no budget contains."""
    if given.evidence is None:
        return
    yield Paragraph(
        "By the Guide to the expression of uncertainty in measurement (JCGM 100:2008): independent "
        "sources, combined by their sensitivities; U = k u for a coverage of 95 %, k by "
        "Student's t for the effective degrees of freedom. The budgets are those of the "
        "deciding stresses; those of force, stress and masses stand for the greater one."
    )
    deciding = [point.stress_psi for point in given.evidence.deciding_points]
    for one in given.budgets:
        if one.stress_psi not in deciding:
            continue
        behind = (
            ("Force", one.force),
            ("Stress", one.stress),
            ("Mass in the pan, mean of the specimens", one.pan),
            ("Mass of the charge, mean of the specimens", one.charge),
        )
        # Those behind the fines differ little from one stress to the next.
        shown = behind if one.stress_psi == deciding[-1] else ()
        for name, budget in (("Mean fines", one.fines), *shown):
            if budget is not None:
                yield _table(f"{name}, at {psi(one.stress_psi)} psi", budget)
        if one.fines is not None:
            yield Paragraph(_by_draws(one, one.fines))
    yield from _ramp_blocks(given, deciding[-1:])
    yield from _class_blocks(given.evidence)
    missing = Bullets(given.known.missing)
    yield Group(title="Not in any budget, because it is not on record", blocks=(missing,))


def _table(caption: str, budget: Budget) -> Block:
    value, reach = stated(budget.value, budget.expanded)
    rows = [
        TableRow((
            part.name, f"{part.kind}, {part.shape}", significant(part.u),
            significant(part.sensitivity), significant(part.contribution), _dof(part.dof),
            number(budget.share_pct(part), ".1f"),
        ))
        for part in budget.components
        if part.u
    ]  # fmt: skip
    total = ("combined", "", "", "", significant(budget.u), _dof(budget.dof), "100")
    return table(
        f"{caption}: {value} ± {reach} {budget.unit} (k = {budget.k:.2f})",
        "source:<2.4 | kind:<1.5 | u of the source:>0.9 | sensitivity:>0.9 | "
        f"u, {budget.unit}:>0.8 | dof:>0.6 | share, %:>0.7",
        [*rows, TableRow(total, Emphasis.STRONG)],
    )


def _by_draws(one: StressBudgets, fines: Budget) -> str:
    """The interval of the mean fines by propagation of distributions, and what it says of U."""
    masses = 2  # the first two sources are pan and charge, which are drawn from their own
    found = fines_by_draws(one.pan, one.charge, fines.components[masses:], seed=_SEED)
    return (
        f"Mean fines at {psi(one.stress_psi)} psi {_DRAWN}: 95 % interval "
        f"{number(found.low, '.3f')} to {number(found.high, '.3f')} %. {_borne_out(found, fines)}"
    )


def _ramp_blocks(given: ReportInput, stresses_psi: Sequence[float]) -> Iterator[Block]:
    """The ramp rate of the last specimen at a stress, by its budget and by draws."""
    forces = {one.stress_psi: one.force for one in given.budgets}
    for one in reversed(given.record.specimens):
        if not one.counts or one.added.target_psi not in stresses_psi:
            continue
        ramp = measured_ramp(given.known, one, forces[one.added.target_psi])
        if ramp is None:
            continue
        budget, found = ramp_rate_budget(ramp), ramp_rate_by_draws(ramp, seed=_SEED)
        yield _table(f"Mean ramp rate, specimen {one.number}", budget)
        yield Paragraph(
            f"Ramp rate of specimen {one.number} {_DRAWN}: 95 % interval "
            f"{number(found.low, '.1f')} to {number(found.high, '.1f')} psi/min. "
            f"{_borne_out(found, budget)}"
        )
        return


def _class_blocks(evidence: ClassEvidence) -> Iterator[Block]:
    """The classes by draws, beside what the table of the probabilities has."""
    if evidence.question is None:
        return
    passed = classes_by_draws(evidence.question, seed=_SEED)
    drawn: dict[str | None, float] = {}
    names = (None, *(class_at(one.stress_psi) for one in evidence.stresses))
    for name, share in zip(names, passed, strict=True):
        drawn[name] = drawn.get(name, 0.0) + share
    said = ", ".join(
        f"{name or 'under the lowest'} {number(share, '.3f')}"
        for name, share in drawn.items()
        if share >= _SHOWN
    )
    off = max(abs(share - evidence.probability(name)) for name, share in drawn.items())
    yield Paragraph(
        f"Class {_DRAWN}: {said}. The probabilities stated of the classes differ from these by "
        f"{number(off, '.3f')} at most."
    )


def _borne_out(found: Propagated, budget: Budget) -> str:
    """Whether draws and budget agree, JCGM 101:2008 clause 8."""
    if found.bears_out(budget):
        return "It bears out the budget to the two digits of u."
    return "It does not agree with the budget to the two digits of u: of the two, take this one."


def _dof(dof: float) -> str:
    return NONE if math.isinf(dof) else number(dof, ".1f" if dof % 1 else ".0f")
