"""A sample's record, put as a report."""

from collections.abc import Callable, Sequence

from ramphold.report._before_section import density_section, other_section, sieve_section
from ramphold.report._bench_section import bench_section
from ramphold.report._budget_section import budget_section
from ramphold.report._changes_section import changes_section
from ramphold.report._closing_section import caution_section, record_section
from ramphold.report._cover import CAUTION, cover_facts, headline, notices, revision_text
from ramphold.report._document import Document, ReportSection
from ramphold.report._format import date
from ramphold.report._method_section import method_section
from ramphold.report._report_input import Issue, ReportInput, report_input
from ramphold.report._result_section import result_section
from ramphold.report._run_section import run_section
from ramphold.report._specimen_section import specimen_section
from ramphold.sample import SampleRecord, Trace

__all__ = ["document"]


def document(
    record: SampleRecord,
    trace: Callable[[int], Trace],
    issue: Issue,
    tampering: Sequence[str] | None = None,
) -> Document:
    """Put a sample as a report.

    Args:
        record: the sample.
        trace: gives the trace of a run by its number.
        issue: how the report goes out.
        tampering: what a look over the records found; None where nobody looked.
    """
    held = report_input(record, trace, issue, tampering)
    return Document(
        letterhead=issue.letterhead,
        title="Crush resistance of a proppant",
        number=record.sample.laboratory_number,
        revision=revision_text(held),
        issued=date(issue.utc_ns),
        headline=headline(held),
        notices=notices(held),
        facts=cover_facts(held),
        caution=CAUTION,
        sections=_sections(held),
        seal=record.chain.sha256,
    )


def _sections(held: ReportInput) -> tuple[ReportSection, ...]:
    sections = (
        result_section(held),
        method_section(held),
        specimen_section(held),
        budget_section(held) if held.evidence else None,
        sieve_section(held),
        density_section(held),
        other_section(held),
        run_section(held),
        changes_section(held),
        bench_section(held),
        record_section(held),
        caution_section(),
    )
    return tuple(one for one in sections if one is not None)
