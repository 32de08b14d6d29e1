"""The uncertainty budgets, line by line."""

import math
from collections.abc import Iterator

from ramphold.method.monte_carlo import DRAWS, fines_by_draws
from ramphold.method.uncertainty import Budget, stated
from ramphold.report._document import Block, Bullets, Emphasis, Group, Paragraph, TableRow, table
from ramphold.report._format import NONE, number, psi, significant
from ramphold.report._report_input import ReportInput
from ramphold.report._uncertainty import StressBudgets

_SEED = 1


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
    borne_out = (
        "It bears out the budget to the two digits of u."
        if found.bears_out(fines)
        else "It does not agree with the budget to the two digits of u: of the two, take this one."
    )
    return (
        f"Mean fines at {psi(one.stress_psi)} psi by propagation of distributions (JCGM 101:2008, "
        f"{DRAWS // 1_000_000} million draws, seed {_SEED}): 95 % interval "
        f"{number(found.low, '.3f')} to {number(found.high, '.3f')} %. {borne_out}"
    )


def _dof(dof: float) -> str:
    return NONE if math.isinf(dof) else number(dof, ".1f" if dof % 1 else ".0f")
