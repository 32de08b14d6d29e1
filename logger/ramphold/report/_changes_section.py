"""What was corrected, left out or decided: all of it, with who, when and why."""

from collections.abc import Iterator

from ramphold.report._basis import Basis
from ramphold.report._model import Block, Column, Paragraph, Row, Section, Table
from ramphold.report._texts import NONE, date, together
from ramphold.sample import MassTaken, SampleCorrected, SampleRecord, ValueEntered

__all__ = ["changes_section"]


def changes_section(basis: Basis) -> Section:
    """Corrections, exclusions, decisions, masses entered by hand."""
    return Section(
        title="Corrections, exclusions and decisions", blocks=tuple(_blocks(basis.record))
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
    yield Paragraph(_by_hand(record))


def _corrections(record: SampleRecord) -> Block:
    masses = {one.record: one.mass_g for one in record.masses}
    rows = []
    for one in record.corrections:
        what, change = _change(one, masses)
        rows.append((one.operator, one.utc_ns, one.reason or NONE, what, change))
    return _table("Corrections", ("what", "change"), rows)


def _change(
    one: SampleCorrected | MassTaken | ValueEntered, masses: dict[int, float]
) -> tuple[str, str]:
    match one:
        case SampleCorrected():
            return one.field.replace("_", " "), f"to {one.value}"
        case MassTaken():
            old = masses.get(one.corrects or 0)
            was = NONE if old is None else f"{old:g} g"
            return str(one.place), f"{was} to {one.mass_g:g} g (record {one.corrects})"
        case ValueEntered():
            value = "a count of grains" if one.value is None else f"{one.value:g}"
            return one.what, f"to {value} (in place of record {one.corrects})"


def _table(
    caption: str, heads: tuple[str, str], rows: list[tuple[str, int, str, str, str]]
) -> Block:
    if not rows:
        return Paragraph(f"{caption}: none.")
    return Table(
        caption=caption,
        columns=(
            Column(heads[0], 1.5, numeric=False),
            Column(heads[1], 1.7, numeric=False),
            Column("why", 2.2, numeric=False),
            Column("by", 0.4, numeric=False),
            Column("when", 1.3, numeric=False),
        ),
        rows=tuple(
            Row((what, change, why, by, date(utc_ns))) for by, utc_ns, why, what, change in rows
        ),
    )


def _by_hand(record: SampleRecord) -> str:
    entered = [
        f"{one.place}, {one.mass_g:g} g (record {one.record}, {one.operator})"
        for one in record.masses
        if one.line is None
    ]
    return f"Masses entered by hand instead of captured from the balance: {together(entered)}."
