"""The input of every section: the record, the results from it, and the issue."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from ramphold.core.trace import Trace
from ramphold.keys.person_signature import PersonSignature
from ramphold.method.class_evidence import ClassEvidence
from ramphold.method.fines_curve import FinesCurve, fit_fines
from ramphold.method.limits import FINES_PCT
from ramphold.report._document import Letterhead
from ramphold.report._uncertainty import BenchKnown, StressBudgets, stress_budgets
from ramphold.sample import SampleRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """How a report is issued.

    Attributes:
        utc_ns: time of issue, UTC in ns since 1970.
        revision: from 1; None for a draft.
        by: initials of the person who issues it.
        signer: that person in full, with the key that is to sign it; None for initials alone.
        changes: the differences from the revision before.
        letterhead: the laboratory.
        notes: title and text of what a reader must know beside the sample's own records.
        disputed: whether the records contradict others; said at the foot of each page.
        traces: whether each run has a figure of its own, instead of a small one beside others.
    """

    utc_ns: int
    revision: int | None = None
    by: str = ""
    signer: PersonSignature | None = None
    changes: str = ""
    letterhead: Letterhead = field(default_factory=Letterhead)
    notes: tuple[tuple[str, str], ...] = ()
    disputed: bool = False
    traces: bool = False


@dataclass(frozen=True, kw_only=True)
class ReportInput:
    """The input of every section; arguments as for `document`."""

    record: SampleRecord
    trace: Callable[[int], Trace]
    issue: Issue
    tampering: Sequence[str] | None

    @cached_property
    def limit_pct(self) -> float | None:
        """Greatest mean fines in %; None if the edition has none for the size."""
        suggested = self.record.suggested
        return self.record.edition.class_fines_pct or (suggested.fines_pct if suggested else None)

    @cached_property
    def curve(self) -> FinesCurve | None:
        """The fitted fines-stress curve, if there is one."""
        return fit_fines(self.record.counted, self._about_pct)

    @cached_property
    def evidence(self) -> ClassEvidence | None:
        """Means, spread, and the class if the edition has classes; None until a specimen counts."""
        if not self.record.counted:
            return None
        return self.record.evidence_at(self._about_pct)

    @cached_property
    def known(self) -> BenchKnown:
        """What is known about the bench."""
        counted = [one.run.run for one in self.record.specimens if one.counts and one.run]
        trace = self.trace(counted[-1]) if counted else None
        return BenchKnown(record=self.record, trace=trace)

    @cached_property
    def budgets(self) -> tuple[StressBudgets, ...]:
        """The budgets of each stress with specimens that count, lowest stress first."""
        if self.evidence is None:
            return ()
        spread = self.evidence.spread
        return tuple(
            stress_budgets(self.known, point, self.curve, spread, self._about_pct)
            for point in self.evidence.found.points
        )

    @property
    def _about_pct(self) -> float:
        return self.limit_pct or FINES_PCT
