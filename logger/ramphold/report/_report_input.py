"""The input of every section: the record, the results from it, and the issue."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from ramphold.method.class_evidence import ClassEvidence, weigh_class
from ramphold.method.fines_curve import FinesCurve, fit_fines
from ramphold.method.limits import FINES_PCT
from ramphold.report._document import Letterhead
from ramphold.report._uncertainty import Known, StressBudgets, known_of, stress_budgets
from ramphold.sample import SampleRecord, Trace

__all__ = ["Issue", "ReportInput", "report_input"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """How a report is issued.

    Attributes:
        utc_ns: time of issue, UTC in ns since 1970.
        revision: from 1; None for a draft.
        by: initials of the person who issues it.
        changes: the differences from the revision before.
        letterhead: the laboratory.
    """

    utc_ns: int
    revision: int | None = None
    by: str = ""
    changes: str = ""
    letterhead: Letterhead = field(default_factory=Letterhead)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportInput:
    """The input of every section.

    Attributes:
        record, issue, trace: as for `document`.
        tampering: what the audit of the records found; None if there was no audit.
        evidence: means, spread, and the class if the edition has classes; None until a specimen
            counts.
        curve: the fitted fines-stress curve, if there is one.
        limit_pct: greatest mean fines in %; None if the edition has none for the size.
        known: what is known about the bench.
        budgets: of each stress with specimens that count, lowest first.
    """

    record: SampleRecord
    issue: Issue
    trace: Callable[[int], Trace]
    tampering: Sequence[str] | None
    evidence: ClassEvidence | None
    curve: FinesCurve | None
    limit_pct: float | None
    known: Known
    budgets: tuple[StressBudgets, ...]


def report_input(
    record: SampleRecord,
    trace: Callable[[int], Trace],
    issue: Issue,
    tampering: Sequence[str] | None,
) -> ReportInput:
    """Compute what several sections need."""
    suggested = record.suggested
    limit_pct = record.edition.class_fines_pct or (suggested.fines_pct if suggested else None)
    about_pct = limit_pct or FINES_PCT
    curve = fit_fines(record.counted, about_pct)
    evidence = None
    if record.counted:
        evidence = weigh_class(
            record.counted, limit_pct=about_pct, laboratory=record.bench.laboratory
        )
    counted = [one.run.run for one in record.specimens if one.counts and one.run]
    known = known_of(record, trace(counted[-1]) if counted else None)
    points = evidence.found.points if evidence else ()
    return ReportInput(
        record=record,
        issue=issue,
        trace=trace,
        tampering=tampering,
        evidence=evidence,
        curve=curve,
        limit_pct=limit_pct,
        known=known,
        budgets=tuple(
            stress_budgets(
                record,
                known,
                point,
                curve=curve,
                spread=evidence.spread if evidence else None,
                about_pct=about_pct,
            )
            for point in points
        ),
    )
