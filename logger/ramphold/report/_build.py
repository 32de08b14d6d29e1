"""Builds the report of a sample from its record."""

from collections.abc import Callable, Iterator, Sequence
from itertools import chain
from typing import TypeAlias

from ramphold.core.trace import Trace
from ramphold.report._before_section import density_blocks, other_blocks, sieve_blocks
from ramphold.report._bench_section import bench_blocks
from ramphold.report._budget_section import budget_blocks
from ramphold.report._changes_section import change_blocks
from ramphold.report._closing_section import caution_blocks, record_blocks
from ramphold.report._cover import CAUTION, cover_facts, headline, notices, revision_text
from ramphold.report._decision_section import decision_blocks
from ramphold.report._document import Block, Document, ReportSection
from ramphold.report._format import date
from ramphold.report._method_section import METHOD_TITLE, method_blocks
from ramphold.report._report_input import Issue, ReportInput
from ramphold.report._result_section import evidence_blocks, result_blocks
from ramphold.report._results import results_json
from ramphold.report._run_section import run_blocks
from ramphold.report._sieve_section import sieve_instrument_blocks
from ramphold.report._specimen_section import specimen_blocks
from ramphold.report._statement_section import statement_blocks
from ramphold.report._steps_section import step_blocks
from ramphold.sample import SampleRecord

_Sections: TypeAlias = tuple[tuple[str, Callable[[ReportInput], Iterator[Block]]], ...]


def _method_and_statements(given: ReportInput) -> Iterator[Block]:
    return chain(step_blocks(given), statement_blocks(given))


#: The two pages that stand alone, and the annex; a section without blocks is left out.
_FRONT: _Sections = (
    ("Results and decisions", decision_blocks),
    ("Fines over stress", result_blocks),
    ("Method, deviations and statements", _method_and_statements),
)
_ANNEX: _Sections = (
    ("Evidence for the class", evidence_blocks),
    (METHOD_TITLE, method_blocks),
    ("Specimens", specimen_blocks),
    ("Sieves and blanks", sieve_instrument_blocks),
    ("Uncertainty", budget_blocks),
    ("Sieve analysis", sieve_blocks),
    ("Preparation and bulk density", density_blocks),
    ("Other tests", other_blocks),
    ("Corrections, exclusions and decisions", change_blocks),
    ("Instruments and certificates", bench_blocks),
    ("Cautions", caution_blocks),
    ("Runs", run_blocks),
    ("Record", record_blocks),
)


def document(
    record: SampleRecord,
    trace: Callable[[int], Trace],
    issue: Issue,
    tampering: Sequence[str] | None = None,
) -> Document:
    """Build the report of a sample.

    Args:
        record: the sample.
        trace: returns the trace of a run by its number.
        issue: how the report is issued.
        tampering: what the audit of the records found; None where there was no audit.
    """
    given = ReportInput(record=record, trace=trace, issue=issue, tampering=tampering)
    sections = (
        ReportSection(title=title, blocks=tuple(blocks(given)), annex=annex)
        for annex, part in ((False, _FRONT), (True, _ANNEX))
        for title, blocks in part
    )
    return Document(
        letterhead=issue.letterhead,
        title="Crush resistance of a proppant",
        number=record.sample.laboratory_number,
        revision=revision_text(given),
        issued=date(issue.utc_ns),
        headline=headline(given),
        notices=tuple(notices(given)),
        facts=cover_facts(given),
        caution=CAUTION,
        sections=tuple(one for one in sections if one.blocks),
        seal=record.chain.sha256,
        results=results_json(given),
    )
