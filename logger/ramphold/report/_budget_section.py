"""The uncertainty budgets, line by line."""

import math
from collections.abc import Iterator

from ramphold.method.uncertainty import Budget, stated
from ramphold.report._document import (
    Block,
    Bullets,
    Column,
    Emphasis,
    Group,
    Paragraph,
    ReportSection,
    Table,
    TableRow,
)
from ramphold.report._format import NONE, number, psi, significant
from ramphold.report._report_input import ReportInput
from ramphold.report._uncertainty import StressBudgets

__all__ = ["budget_section"]


def budget_section(given: ReportInput) -> ReportSection:
    """Every budget of the stresses that decide, and what is in none."""
    return ReportSection(title="Uncertainty", blocks=tuple(_blocks(given)))


def _blocks(given: ReportInput) -> Iterator[Block]:
    yield Paragraph(
        "By the Guide to the expression of uncertainty in measurement (JCGM 100:2008): independent "
        "sources, combined by their sensitivities; U = k u for a coverage of 95 %, k by "
        "Student's t for the effective degrees of freedom. The budgets are those of the stresses "
        "that decide."
    )
    for one in _deciding(given):
        yield from _of_stress(one)
    missing = Bullets(given.known.missing)
    yield Group(title="In no budget, because the record does not have it", blocks=(missing,))


def _deciding(given: ReportInput) -> Iterator[StressBudgets]:
    points = given.evidence.deciding_points if given.evidence else ()
    stresses = {point.stress_psi for point in points}
    yield from (one for one in given.budgets if one.stress_psi in stresses)


def _of_stress(one: StressBudgets) -> Iterator[Block]:
    at = f"at {psi(one.stress_psi)} psi"
    named = (
        ("Mean fines", one.fines),
        ("Force", one.force),
        ("Stress", one.stress),
        ("Mass in the pan, mean of the specimens", one.pan),
        ("Mass of the charge, mean of the specimens", one.charge),
    )
    for name, budget in named:
        if budget is not None:
            yield _table(f"{name}, {at}", budget)


def _table(caption: str, budget: Budget) -> Table:
    value, reach = stated(budget.value, budget.expanded)
    unit = budget.unit
    parts = [part for part in budget.components if part.u]
    rows = [
        TableRow(
            (
                part.name,
                f"{part.kind}, {part.shape}",
                significant(part.u),
                significant(part.sensitivity),
                significant(part.contribution),
                _dof(part.dof),
                number(budget.share_pct(part), ".1f"),
            )
        )
        for part in parts
    ]
    total = ("combined", "", "", "", significant(budget.u), _dof(budget.dof), "100")
    rows.append(TableRow(total, Emphasis.STRONG))
    return Table(
        caption=f"{caption}: {value} ± {reach} {unit} (k = {budget.k:.2f})",
        columns=(
            Column("source", 2.4, numeric=False),
            Column("kind", 1.5, numeric=False),
            Column("u of the source", 0.9),
            Column("sensitivity", 0.9),
            Column(f"u, {unit}", 0.8),
            Column("dof", 0.6),
            Column("share, %", 0.7),
        ),
        rows=tuple(rows),
    )


def _dof(dof: float) -> str:
    return NONE if math.isinf(dof) else number(dof, ".1f" if dof % 1 else ".0f")
