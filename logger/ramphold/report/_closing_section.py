"""The end of a report: the chain that anchors it, earlier revisions, and cautions."""

from collections.abc import Iterator

from ramphold.report._document import (
    Block,
    Bullets,
    Column,
    Emphasis,
    Facts,
    Group,
    Notice,
    Paragraph,
    ReportSection,
    Table,
    TableRow,
)
from ramphold.report._format import NONE, date
from ramphold.report._report_input import ReportInput
from ramphold.sample import SampleRecord

__all__ = ["caution_section", "record_section"]

_ON_USE = """\
A crush class is an index by which proppants are compared. It is not the conductivity of a pack in \
a fracture: embedment, time, temperature, fluids and cyclic stress are not in it.
The result holds for the specimens that were tested. How well they stand for a lot is a matter of \
its sampling, which is not in the uncertainty here.
Split samples of one material are known to differ by classes between laboratories, and within one. \
Hold classes against each other only with their uncertainty.
This report may be copied whole only."""
_ON_WORK = """\
The program observes. It is no guard, no interlock and no load limiter. Local rules and licensed \
practice come first.
Press: keep hands out while there is load and the shield closed; never exceed the rating of press, \
cell or gauge.
Ejected parts: cell, piston and grains can fly out under an eccentric load; wear eye and face \
protection.
Oil injection: a pinhole leak drives oil through the skin, an emergency however small it looks; \
never feel for a leak.
Silica dust: pouring, crushing, sieving and brushing raise respirable crystalline silica; use \
extraction or closed lids, never dry sweeping or blowing."""


def record_section(given: ReportInput) -> ReportSection:
    """The chain, the hashes of the runs, and the reports that went out."""
    return ReportSection(title="Record", blocks=tuple(_record(given)))


def _record(given: ReportInput) -> Iterator[Block]:
    record = given.record
    if given.tampering:
        yield Notice(
            title="Changed behind the program's back",
            text="; ".join(given.tampering) + ".",
            tone=Emphasis.FAIL,
        )
    looked = {
        None: "not done for this report",
        True: "done: every link and every trace is as it was written",
    }.get(
        None if given.tampering is None else not given.tampering,
        "done: NOT as it was written",
    )
    yield Facts((
        ("Records of this sample", f"{record.chain.records}, the newest is {record.chain.newest}"),
        ("Look over them", looked),
        ("Hash of the newest (SHA-256)", record.chain.sha256),
    ))  # fmt: skip
    yield Paragraph(
        "Each record is hashed together with the hash of the one before it. Whoever holds this "
        "report can tell by the hash above whether any of them was changed since."
    )
    if rows := tuple(_runs(record)):
        yield Table(
            caption="Hashes of the runs' traces (SHA-256)",
            columns=(Column("run", 0.3), Column("readings", 0.5),
                     Column("trace, as it is exported", 4.0, numeric=False)),
            rows=rows,
        )  # fmt: skip
    yield _reports(given)


def _runs(record: SampleRecord) -> Iterator[TableRow]:
    for one in record.specimens:
        for run in one.runs:
            yield TableRow((str(run.run), str(run.readings), run.trace_sha256))


def _reports(given: ReportInput) -> Block:
    before = given.record.reports
    if not before:
        return Paragraph("Earlier reports of this sample: none.")
    draft = given.issue.revision is None
    return Table(
        caption="Earlier reports of this sample" + ("" if draft else ", superseded by this one"),
        columns=(
            Column("revision", 0.5),
            Column("issued", 1.2, numeric=False),
            Column("by", 0.6, numeric=False),
            Column("what changed", 2.0, numeric=False),
            Column("file's hash (SHA-256)", 2.6, numeric=False),
        ),
        rows=tuple(
            TableRow((
                str(one.revision), date(one.utc_ns), one.operator, one.changes or NONE,
                one.sha256 or NONE,
            ))
            for one in before
        ),
    )  # fmt: skip


def caution_section() -> ReportSection:
    """What the result is not, and what the work can do to people."""
    return ReportSection(
        title="Cautions",
        blocks=(
            Group(title="On the use of the result", blocks=(Bullets(tuple(_ON_USE.splitlines())),)),
            Group(title="On the work", blocks=(Bullets(tuple(_ON_WORK.splitlines())),)),
        ),
    )
