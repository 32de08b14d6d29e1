"""The uncertainty budgets, line by line."""

import math
from collections.abc import Iterator

from ramphold.method.uncertainty import Budget, stated
from ramphold.report._basis import Basis
from ramphold.report._model import (
    Block,
    Bullets,
    Column,
    Group,
    Paragraph,
    Row,
    Section,
    Table,
    Tone,
)
from ramphold.report._texts import NONE, number, psi, significant
from ramphold.report._uncertainty import StressBudgets

__all__ = ["budget_section"]


def budget_section(basis: Basis) -> Section:
    """Every budget of the stresses that decide, and what is in none."""
    return Section(title="Uncertainty", blocks=tuple(_blocks(basis)))


def _blocks(basis: Basis) -> Iterator[Block]:
    yield Paragraph(
        "By the Guide to the expression of uncertainty in measurement (JCGM 100:2008): independent "
        "sources, combined by their sensitivities; U = k u for a coverage of 95 %, k by "
        "Student's t for the effective degrees of freedom. The budgets are those of the stresses "
        "that decide."
    )
    for one in _deciding(basis):
        yield from _of_stress(one)
    missing = Bullets(basis.known.missing)
    yield Group(title="In no budget, because the record does not have it", blocks=(missing,))


def _deciding(basis: Basis) -> Iterator[StressBudgets]:
    points = basis.evidence.deciding_points if basis.evidence else ()
    stresses = {point.stress_psi for point in points}
    yield from (one for one in basis.budgets if one.stress_psi in stresses)


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
        Row(
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
    rows.append(Row(total, Tone.STRONG))
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
