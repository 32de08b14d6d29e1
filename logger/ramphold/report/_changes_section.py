"""What was corrected, left out or decided: all of it, with who, when and why."""

from collections.abc import Iterator, Sequence

from msgspec import structs

from ramphold.method.entered import PROPERTIES
from ramphold.report._document import Block, Column, Paragraph, ReportSection, Table, TableRow
from ramphold.report._format import NONE, date, together
from ramphold.report._report_input import ReportInput
from ramphold.sample import MassTaken, SampleCorrected, SampleRecord, ValueEntered

__all__ = ["changes_section"]


def changes_section(given: ReportInput) -> ReportSection:
    """Corrections, exclusions, decisions, masses entered by hand."""
    return ReportSection(
        title="Corrections, exclusions and decisions", blocks=tuple(_blocks(given.record))
    )


def _blocks(record: SampleRecord) -> Iterator[Block]:
    yield _corrections(record)
    yield _table(
        "Specimens left out, or taken in again",
        ("specimen", "decided"),
        [
            (one.operator, one.utc_ns, one.reason, f"specimen {one.specimen}",
             "left out" if one.excluded else "taken in again")
            for one in record.exclusions
        ],
    )  # fmt: skip
    yield _table(
        "Runs decided on whatever their assessment says",
        ("run", "decided"),
        [
            (one.operator, one.utc_ns, one.reason, f"run {one.run} of specimen {one.specimen}",
             "counts" if one.counts else "does not count")
            for one in record.decisions
        ],
    )  # fmt: skip
    yield _by_hand(record)


def _corrections(record: SampleRecord) -> Block:
    """What was said before and after each; a field's own corrections follow each other."""
    said: dict[int | str, str] = {one.record: f"{one.mass_g:g} g" for one in record.masses}
    said |= {one.record: _entered(one) for one in record.values}
    said |= {
        name: together(value, "") if isinstance(value, tuple) else str(value)
        for name, value in structs.asdict(record.received).items()
    }
    rows = []
    for one in record.corrections:
        if isinstance(one, SampleCorrected):
            what, before, after = one.field.replace("_", " "), said[one.field], one.value
            said[one.field] = after
        else:
            what = str(one.place) if isinstance(one, MassTaken) else one.what
            before, after = said.get(one.corrects or 0, ""), said[one.record]
        rows.append((one.operator, one.utc_ns, one.reason or NONE, what, before, after))
    return _table("Corrections", ("what", "before", "after"), rows)


def _entered(one: ValueEntered) -> str:
    """A value with its unit, or the grains counted at each value of the chart."""
    if one.value is None:
        return together(f"{count} at {shape:g}" for shape, count in one.counts)
    return f"{one.value:g} {PROPERTIES[one.what].unit}".strip()


def _table(
    caption: str, heads: tuple[str, ...], rows: Sequence[tuple[str, int, str, *tuple[str, ...]]]
) -> Block:
    if not rows:
        return Paragraph(f"{caption}: none.")
    return Table(
        caption=caption,
        columns=(
            *(Column(head, 1.4, numeric=False) for head in heads),
            Column("why", 2.2, numeric=False),
            Column("by", 0.7, numeric=False),
            Column("when", 1.4, numeric=False),
        ),
        rows=tuple(TableRow((*what, why, by, date(utc_ns))) for by, utc_ns, why, *what in rows),
    )


def _by_hand(record: SampleRecord) -> Block:
    entered = tuple(one for one in record.masses if one.line is None)
    caption = "Masses entered by hand instead of captured from the balance"
    if not entered:
        return Paragraph(f"{caption}: none.")
    return Table(
        caption=caption,
        columns=(
            Column("what", 3.0, numeric=False),
            Column("mass, g", 1.0),
            Column("by", 0.7, numeric=False),
            Column("when", 1.4, numeric=False),
            Column("record", 0.6),
        ),
        rows=tuple(
            TableRow((str(one.place), f"{one.mass_g:g}", one.operator, date(one.utc_ns),
                 str(one.record)))
            for one in entered
        ),
    )  # fmt: skip
