"""The end of a report: the chain of records, earlier revisions, and cautions."""

from collections.abc import Iterator

from ramphold.report._document import (
    Block,
    Bullets,
    Emphasis,
    Facts,
    Group,
    Notice,
    table,
)
from ramphold.report._format import NONE, date
from ramphold.report._report_input import ReportInput
from ramphold.report._signatures import signature_blocks

_ON_USE = """\
A crush class is an index for comparing proppants. It is not the conductivity of a pack in a \
fracture: embedment, time, temperature, fluids and cyclic stress are not included.
Split samples of one material are known to differ by whole classes between laboratories and within \
one. Compare classes only with their uncertainty."""
_ON_WORK = """\
The program observes. It is no guard, no interlock and no load limiter. Local rules and licensed \
practice come first.
Press: while there is load keep hands out and the shield closed; never exceed the rating of press, \
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
    audit = "not done for this report"
    if given.tampering:
        yield Notice(
            title="Changed outside the program",
            text="; ".join(given.tampering) + ".",
            tone=Emphasis.FAIL,
        )
        audit = "FAILED: not as written"
    elif given.tampering is not None:
        audit = "passed: every link and every trace is as written"
    yield Facts((
        ("Records of this sample", f"{record.chain.records}, the newest is {record.chain.newest}"),
        ("Audit", audit),
        ("Hash of it and all before", record.chain.sha256),
    ))  # fmt: skip
    if runs := [run for one in record.specimens for run in one.runs]:
        yield table(
            "Hashes of the runs' traces (SHA-256)",
            "run:>0.3 | readings:>0.5 | exported trace:<4",
            ((str(run.run), str(run.readings), run.trace_sha256) for run in runs),
        )
    yield from signature_blocks(given)
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
    """What the result is not, and the dangers of the work."""
    del given
    for title, text in (("On the use of the result", _ON_USE), ("On the work", _ON_WORK)):
        yield Group(title=title, blocks=(Bullets(tuple(text.splitlines())),))
