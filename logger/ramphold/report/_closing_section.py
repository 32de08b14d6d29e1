"""The end of a report: the chain that anchors it, earlier revisions, and cautions."""

from collections.abc import Iterator

from ramphold.report._document import (
    Block,
    Bullets,
    Emphasis,
    Facts,
    Group,
    Notice,
    Paragraph,
    table,
)
from ramphold.report._format import NONE, date
from ramphold.report._report_input import ReportInput

__all__ = ["caution_blocks", "record_blocks"]

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


def record_blocks(given: ReportInput) -> Iterator[Block]:
    """The chain, the hashes of the runs, and the reports that were issued."""
    record = given.record
    looked = "not done for this report"
    if given.tampering:
        yield Notice(
            title="Changed behind the program's back",
            text="; ".join(given.tampering) + ".",
            tone=Emphasis.FAIL,
        )
        looked = "done: NOT as it was written"
    elif given.tampering is not None:
        looked = "done: every link and every trace is as it was written"
    yield Facts((
        ("Records of this sample", f"{record.chain.records}, the newest is {record.chain.newest}"),
        ("Look over them", looked),
        ("Hash of the newest (SHA-256)", record.chain.sha256),
    ))  # fmt: skip
    yield Paragraph(
        "Each record is hashed together with the hash of the one before it. Whoever holds this "
        "report can tell by the hash above whether any of them was changed since."
    )
    if runs := [run for one in record.specimens for run in one.runs]:
        yield table(
            "Hashes of the runs' traces (SHA-256)",
            "run:>0.3 | readings:>0.5 | trace, as it is exported:<4",
            ((str(run.run), str(run.readings), run.trace_sha256) for run in runs),
        )
    superseded = record.reports and given.issue.revision is not None
    yield table(
        "Earlier reports of this sample" + (", superseded by this one" if superseded else ""),
        "revision:>0.5 | issued:<1.2 | by:<0.6 | what changed:<2 | file's hash (SHA-256):<2.6",
        (
            (str(one.revision), date(one.utc_ns), one.operator, one.changes or NONE,
             one.sha256 or NONE)
            for one in record.reports
        ),
    )  # fmt: skip


def caution_blocks(given: ReportInput) -> Iterator[Block]:
    """What the result is not, and what the work can do to people."""
    del given
    for title, text in (("On the use of the result", _ON_USE), ("On the work", _ON_WORK)):
        yield Group(title=title, blocks=(Bullets(tuple(text.splitlines())),))
