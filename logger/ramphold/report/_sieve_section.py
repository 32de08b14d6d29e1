"""The sieves of the cut, of the stack and after the crush, and the blanks."""

from collections.abc import Iterator, Sequence

from ramphold.method.limits import MOST_BLANK_PCT
from ramphold.method.sieve_openings import tolerance_mm
from ramphold.method.sieves import PAN, opening_mm
from ramphold.report._document import Block, Paragraph, TableRow, marked, table
from ramphold.report._format import NONE, NOT_RECORDED, number, together
from ramphold.report._report_input import ReportInput
from ramphold.sample import SampleRecord, SieveChosen, SieveUse, SpecimenRecord

_OF_SPECIMENS = (SieveUse.CUT, SieveUse.AFTER_CRUSH)


def sieve_instrument_blocks(given: ReportInput) -> Iterator[Block]:
    """Which sieve each specimen was cut and sieved on, what blanks showed, and the stack."""
    record = given.record
    yield from _pair(record)
    yield from _stack(record)


def _pair(record: SampleRecord) -> Iterator[Block]:
    used = [one for one in record.specimens if one.balance.charge_g is not None]
    if not used:
        return
    fine = record.size.fine
    allowed = f"{opening_mm(fine):g} mm to within {1000 * tolerance_mm(fine):g} µm"
    yield table(
        f"The No. {fine} sieves, which ASTM E11 wants at {allowed}",
        "used for:<1.1 | serial:<0.8 | mean opening, mm:>0.9 | its u, µm:>0.7 | "
        "certificate or finding:<1.8 | specimens:<1.2",
        [row for use in _OF_SPECIMENS for row in _rows(record, use, used)],
        note="An opening that was not measured enters the budgets as ASTM E11 allows it.",
    )
    blanks = {blank.specimen: blank for one in used for blank in record.blanks_for(one)}
    if not blanks:
        yield Paragraph("Blank (an uncrushed charge through the same sieves): not recorded.")
        return
    said = (
        f"{blank.fines_pct:.2f} % of specimen {blank.specimen}"
        + ("" if blank.sample == record.sample.sample else f" (sample number {blank.sample})")
        for blank in blanks.values()
    )
    yield Paragraph(
        f"Blank (an uncrushed charge through the same sieves): {together(said)} passed. It is "
        f"not subtracted; up to {MOST_BLANK_PCT:g} % is accepted, and it is in the budgets."
    )


def _stack(record: SampleRecord) -> Iterator[Block]:
    """The sieves of the analysis."""
    weighed = [sieve for sieve in record.sieving.masses_g if sieve != PAN]
    if not weighed:
        return
    yield table(
        "The sieves of the stack",
        "sieve:<0.6 | serial:<0.8 | mean opening, mm:>0.9 | its u, µm:>0.7 | "
        "ASTM E11 wants, mm:>1.2 | certificate or finding:<1.8",
        [_stack_row(record, sieve) for sieve in sorted(weighed)],
        note="The shares go by nominal openings; how far a sieve is off is in their U.",
    )


def _stack_row(record: SampleRecord, sieve: int) -> TableRow:
    wanted = f"{opening_mm(sieve):g} ± {tolerance_mm(sieve):g}"
    chosen = record.sieving.sieves.get(sieve)
    if chosen is None:
        return TableRow((f"No. {sieve}", NOT_RECORDED, NONE, NONE, wanted, NONE))
    cells = (
        f"No. {sieve}", chosen.serial, *_opening_cells(chosen), wanted,
        _certificate(record, chosen),
    )  # fmt: skip
    return TableRow(cells, marked(fail=not chosen.is_allowed))


def _opening_cells(chosen: SieveChosen) -> tuple[str, str]:
    """Mean opening in mm and its standard uncertainty in um, as they are printed."""
    u_um = None if chosen.opening_u_mm is None else 1000 * chosen.opening_u_mm
    return number(chosen.opening_mm, ".4f"), number(u_um, ".1f")


def _rows(
    record: SampleRecord, use: SieveUse, used: Sequence[SpecimenRecord]
) -> Iterator[TableRow]:
    by_choice: dict[SieveChosen | None, list[str]] = {}
    for one in used:
        chosen = one.cut_sieve if use is SieveUse.CUT else one.crush_sieve
        by_choice.setdefault(chosen, []).append(str(one.number))
    for chosen, numbers in by_choice.items():
        if chosen is None:
            cells = (str(use), NOT_RECORDED, NONE, NONE, NONE, together(numbers))
            yield TableRow(cells)
            continue
        cells = (
            str(use), chosen.serial, *_opening_cells(chosen), _certificate(record, chosen),
            together(numbers),
        )  # fmt: skip
        yield TableRow(cells, marked(fail=not chosen.is_allowed))


def _certificate(record: SampleRecord, chosen: SieveChosen) -> str:
    for one in record.bench.equipment:
        if (one.check.name, one.check.sieve) == (chosen.serial, chosen.sieve):
            said = one.check.certificate or one.check.finding
            return f"{said}, due {one.check.due}" if one.check.due else said
    return NONE
