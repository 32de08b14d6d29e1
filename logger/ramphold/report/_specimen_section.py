"""Every specimen: masses, fines, and whether and why it counts."""

from collections.abc import Iterator

from ramphold.report._document import Block, Group, Paragraph, TableRow, listed, marked, table
from ramphold.report._format import NONE, number, psi, together_by_specimen
from ramphold.report._report_input import ReportInput
from ramphold.sample import SampleRecord, SpecimenRecord


def specimen_blocks(given: ReportInput) -> Iterator[Block]:
    """All specimens, including those that do not count."""
    record = given.record
    if not record.specimens:
        yield Paragraph("None was recorded.")
        return
    decimals = max(-int(f"{given.known.balance_step_g:e}".partition("e")[2]), 0)
    loss = "loss, %:>0.7 | " if record.sample.mass_balance else ""
    yield table(
        "Masses and fines",
        "no.:>0.45 | label:<0.95 | stress, psi:>0.75 | charge, g:>0.9 | pan, g:>0.75 | "
        f"fines, %:>0.7 | {loss}cell:<0.55 | run:>0.45 | by:<0.8 | counts:<0.65 | because:<2.6",
        (_row(record, one, f".{decimals}f") for one in record.specimens),
        note="Masses are net; fines are the mass in the pan in % of the charge.",
    )
    findings = ((one.number, said) for one in record.specimens for said in one.findings)
    said = listed(together_by_specimen(findings))
    yield Group(title="Findings on specimens", blocks=(said,))


def _row(record: SampleRecord, one: SpecimenRecord, spec: str) -> TableRow:
    balance = one.balance
    loss = (number(balance.loss_pct, ".2f"),) if record.sample.mass_balance else ()
    cells = (
        str(one.number), one.added.label, psi(one.added.target_psi),
        number(balance.charge_g, spec), number(balance.pan_g, spec), number(one.fines_pct, ".2f"),
        *loss, one.added.cell or NONE, str(one.run.run) if one.run else NONE, one.added.operator,
        "yes" if one.counts else "NO", one.because,
    )  # fmt: skip
    return TableRow(cells, marked(fail=not one.counts))
