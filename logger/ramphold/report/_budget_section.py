"""The uncertainty budgets, line by line."""

import math
from collections.abc import Iterator

from ramphold.method.uncertainty import Budget, stated
from ramphold.report._document import Block, Bullets, Emphasis, Group, Paragraph, TableRow, table
from ramphold.report._format import NONE, number, psi, significant
from ramphold.report._report_input import ReportInput


def budget_blocks(given: ReportInput) -> Iterator[Block]:
    """Every budget of the deciding stresses, and what no budget contains."""
    if given.evidence is None:
        return
    yield Paragraph(
        "By the Guide to the expression of uncertainty in measurement (JCGM 100:2008): independent "
        "sources, combined by their sensitivities; U = k u for a coverage of 95 %, k by "
        "Student's t for the effective degrees of freedom. The budgets are those of the "
        "deciding stresses."
    )
    deciding = {point.stress_psi for point in given.evidence.deciding_points}
    for one in given.budgets:
        if one.stress_psi in deciding:
            for name, budget in (
                ("Mean fines", one.fines),
                ("Force", one.force),
                ("Stress", one.stress),
                ("Mass in the pan, mean of the specimens", one.pan),
                ("Mass of the charge, mean of the specimens", one.charge),
            ):
                if budget is not None:
                    yield _table(f"{name}, at {psi(one.stress_psi)} psi", budget)
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


def _dof(dof: float) -> str:
    return NONE if math.isinf(dof) else number(dof, ".1f" if dof % 1 else ".0f")
