"""Every correction, exclusion and decision, with who, when and why."""

from collections.abc import Iterable, Iterator

from msgspec import structs

from ramphold.keys.person_signature import signer_text
from ramphold.method.entered import PROPERTIES
from ramphold.report._document import Block, Paragraph, Table, table
from ramphold.report._format import NONE, date, together
from ramphold.report._report_input import ReportInput
from ramphold.sample import MassTaken, SampleCorrected, SampleRecord, ValueEntered


def change_blocks(given: ReportInput) -> Iterator[Block]:
    """Corrections, exclusions, decisions, masses entered by hand; those that there are."""
    found = [one for one in _tables(given.record) if isinstance(one, Table)]
    none = "No correction, exclusion or decision, and no mass entered by hand."
    yield from found
    if not found:
        yield Paragraph(none)


def _tables(record: SampleRecord) -> Iterator[Block]:
    yield _table("Corrections", ("what", "before", "after"), _corrections(record))
    yield _table(
        "Specimens left out or taken in again",
        ("specimen", "decided"),
        (
            (f"specimen {one.specimen}", "left out" if one.excluded else "taken in again",
             one.reason, one.operator, date(one.utc_ns))
            for one in record.exclusions
        ),
    )  # fmt: skip
    yield _table(
        "Decisions on runs, whatever their assessment",
        ("run", "decided"),
        (
            (f"run {one.run} of specimen {one.specimen}",
             one.words,
             one.reason, signer_text(one.operator, one.signed), date(one.utc_ns))
            for one in record.decisions
        ),
    )  # fmt: skip
    yield table(
        "Masses entered by hand instead of captured from the balance",
        "what:<3 | mass, g:> | by:<0.7 | when:<1.4 | record:>0.6",
        (
            (str(one.place), f"{one.mass_g:g}", one.operator, date(one.utc_ns), str(one.record))
            for one in record.masses
            if one.line is None
        ),
    )


def _corrections(record: SampleRecord) -> Iterator[tuple[str, ...]]:
    """The value before and after each; corrections of one field follow each other."""
    said: dict[int | str, str] = {one.record: f"{one.mass_g:g} g" for one in record.masses}
    said |= {one.record: _entered(one) for one in record.values}
    said |= {
        name: together(value, "") if isinstance(value, tuple) else str(value)
        for name, value in structs.asdict(record.received).items()
    }
    for one in record.corrections:
        if isinstance(one, SampleCorrected):
            what, before, after = one.field.replace("_", " "), said[one.field], one.value
            said[one.field] = after
        else:
            what = str(one.place) if isinstance(one, MassTaken) else one.what
            before, after = said.get(one.corrects or 0, ""), said[one.record]
        yield what, before, after, one.reason or NONE, one.operator, date(one.utc_ns)


def _entered(one: ValueEntered) -> str:
    """A value with its unit, each determination, or the grains at each value of the chart."""
    if one.values:
        unit = PROPERTIES[one.what].unit
        return f"{together(f'{value:g}' for value in one.values)} {unit}".strip()
    if one.value is None:
        return together(f"{count} at {shape:g}" for shape, count in one.counts)
    return f"{one.value:g} {PROPERTIES[one.what].unit}".strip()


def _table(caption: str, heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> Block:
    columns = " | ".join(f"{head}:<1.4" for head in heads)
    return table(caption, f"{columns} | why:<2.2 | by:<0.7 | when:<1.4", rows)
