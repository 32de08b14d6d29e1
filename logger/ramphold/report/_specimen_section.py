"""Specimen by specimen: masses, fines, and whether and why each counts."""

from collections.abc import Iterator

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
from ramphold.report._format import NONE, number, psi
from ramphold.report._report_input import ReportInput
from ramphold.sample import SampleRecord, SpecimenRecord

__all__ = ["specimen_section"]


def specimen_section(given: ReportInput) -> ReportSection:
    """All of them, those that do not count too."""
    record = given.record
    if not record.specimens:
        return ReportSection(title="Specimens", blocks=(Paragraph("None was recorded."),))
    return ReportSection(title="Specimens", blocks=tuple(_blocks(given)))


def _blocks(given: ReportInput) -> Iterator[Block]:
    record = given.record
    spec = f".{max(-_exponent(given), 0)}f"
    yield Table(
        caption="Masses and fines",
        columns=(
            Column("no.", 0.45),
            Column("label", 0.95, numeric=False),
            Column("stress, psi", 0.75),
            Column("charge, g", 0.9),
            Column("pan, g", 0.75),
            Column("fines, %", 0.7),
            *((Column("loss, %", 0.7),) if record.sample.mass_balance else ()),
            Column("cell", 0.55, numeric=False),
            Column("run", 0.45),
            Column("by", 0.8, numeric=False),
            Column("counts", 0.65, numeric=False),
            Column("because", 2.6, numeric=False),
        ),
        rows=tuple(_row(record, one, spec) for one in record.specimens),
        note="Masses are net; fines are the mass in the pan in % of the charge.",
    )
    findings = [
        f"specimen {one.number}: {said}" for one in record.specimens for said in one.findings
    ]
    said: Block = Bullets(tuple(findings)) if findings else Paragraph("None.")
    yield Group(title="Findings on single specimens", blocks=(said,))
    yield Group(title="Seen to before the press", blocks=(Paragraph(_ticks(record)),))


def _exponent(given: ReportInput) -> int:
    digits = f"{given.known.balance_step_g:e}".partition("e")[2]
    return int(digits)


def _row(record: SampleRecord, one: SpecimenRecord, spec: str) -> TableRow:
    balance = one.balance
    loss = (number(balance.loss_pct, ".2f"),) if record.sample.mass_balance else ()
    cells = (
        str(one.number), one.added.label, psi(one.added.target_psi),
        number(balance.charge_g, spec), number(balance.pan_g, spec), number(one.fines_pct, ".2f"),
        *loss, one.added.cell or NONE, str(one.run.run) if one.run else NONE, one.added.operator,
        "yes" if one.counts else "NO", one.because,
    )  # fmt: skip
    return TableRow(cells, Emphasis.PLAIN if one.counts else Emphasis.FAIL)


def _ticks(record: SampleRecord) -> str:
    by_ticks: dict[tuple[str, ...], list[str]] = {}
    for one in record.specimens:
        by_ticks.setdefault(tuple(map(str, one.ticks)), []).append(str(one.number))
    return " ".join(
        f"Specimens {', '.join(numbers)}: {', '.join(ticks) or 'nothing'}."
        for ticks, numbers in by_ticks.items()
    )
