"""Reports of samples, built when somebody asks and kept until what they rest on changes."""

import hashlib
import threading
from collections import OrderedDict, defaultdict
from dataclasses import dataclass, field
from typing import Any

from ramphold.browse.config import BrowseConfig
from ramphold.clock import NS_PER_S
from ramphold.collector.archive import Archive
from ramphold.collector.archived_bench import UsesRead
from ramphold.collector.archived_sample import ArchivedSample
from ramphold.errors import InputError
from ramphold.report import Document, Issue, Letterhead, document, html_sheet
from ramphold.sample import BenchRecord, SampleRecord

_KEPT = 50
_DAY_NS = 86_400 * NS_PER_S
_STANDING = """SELECT bench, filed, newest, vouched, standing, against,
    (SELECT count(*) FROM benches o WHERE o.standing = 'disputed' AND o.against = b.series)
    FROM benches b WHERE series = ?"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleReport:
    """A sample with its report, a draft as of when it was built.

    Attributes:
        record: the sample.
        document: its report.
        sheet: that as part of a page.
        bench: the name of its bench.
        findings: what is not as written, a sentence each.
        disputed: whether its records contradict others that were filed.
    """

    record: SampleRecord
    document: Document
    sheet: str
    bench: str
    findings: tuple[str, ...]
    disputed: bool


@dataclass(slots=True)
class _KnownBench:
    """A bench as of the records that `read` covers; one thread at a time puts it together."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    read: UsesRead = field(default_factory=UsesRead)
    record: BenchRecord | None = None


class SampleReports:
    """The reports that were asked for last. Any thread may ask.

    Args:
        config: the head of the reports.
    """

    def __init__(self, config: BrowseConfig) -> None:
        self._head = Letterhead(
            name=config.laboratory, address=config.address, accreditation=config.accreditation
        )
        self._kept: OrderedDict[tuple[str, int], tuple[str, SampleReport]] = OrderedDict()
        self._benches: dict[str, _KnownBench] = defaultdict(_KnownBench)
        self._lock = threading.Lock()

    def of(self, archive: Archive, series: str, sample: int, utc_ns: int) -> SampleReport:
        """The report of a sample; `utc_ns` is the time now.

        Raises:
            InputError: there is no such sample, or its numbering is out of force.
            StoreError: the archive cannot be read.
        """
        rests_on = _hash(archive, series, sample, utc_ns // _DAY_NS)
        with self._lock:
            kept = self._kept.get((series, sample))
        if kept is None or kept[0] != rests_on:
            kept = rests_on, self._built(archive, series, sample, utc_ns)
        with self._lock:
            self._kept[series, sample] = kept
            self._kept.move_to_end((series, sample))
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return kept[1]

    def _built(self, archive: Archive, series: str, sample: int, utc_ns: int) -> SampleReport:
        found = ArchivedSample(archive, series, sample)
        record = found.record(bench=self.bench(archive, found))
        findings = tuple(found.findings(by_csv=False))
        disputed = found.disputed
        issue = Issue(
            utc_ns=utc_ns, letterhead=self._head, notes=tuple(found.notes()), disputed=disputed
        )
        made = document(record, found.trace, issue, findings)
        return SampleReport(
            record=record,
            document=made,
            sheet=html_sheet(made),
            bench=found.bench_name(),
            findings=findings,
            disputed=disputed,
        )

    def warm(self, archive: Archive) -> None:
        """Put every bench together, so that the first report need not wait for it."""
        for one in archive.benches():
            if one.in_force:
                self.bench(archive, ArchivedSample(archive, one.series, 0))

    def bench(self, archive: Archive, found: ArchivedSample) -> BenchRecord:
        """The bench of a sample, put together once for all its samples until a record is filed.

        Raises:
            InputError: there is no such bench, or its numbering is out of force.
        """
        _, filed, *_ = _standing(archive, found.series)
        with self._lock:
            known = self._benches[found.series]
        with known.lock:
            if known.record is None or known.read.filed != filed:
                known.record = found.bench(read=known.read)
            return known.record


def _hash(archive: Archive, series: str, sample: int, day: int) -> str:
    """A hash that differs as soon as the report would: of its records, its runs, and its bench.

    Records of the bench itself and of the control sand go into it by their number alone, since
    filed records never change; so does the day, by which wear and certificates are judged. The
    sample's own go into it whole: of them the report says whether somebody has changed them.
    """
    digest = hashlib.sha256(repr((day, _standing(archive, series))).encode())
    for row in archive.bodies(series, sample):
        digest.update(repr(row).encode("utf-8", "replace"))
    for row in archive.database.rows(_RUNS, (series, sample)):
        digest.update(repr(row).encode("utf-8", "replace"))
    return digest.hexdigest()


_RUNS = """SELECT r.plan, r.commands, r.events, r.assessment, r.trace FROM events e
    JOIN run_data r ON r.series = e.series AND r.record = e.record
    WHERE e.series = ? AND e.sample = ? AND e.kind = 'run' ORDER BY e.record"""


def _standing(archive: Archive, series: str) -> tuple[Any, ...]:
    """The row of a series that is shown."""
    rows = archive.database.rows(_STANDING, (series,))
    if not rows:
        raise InputError(f"there is no bench with the numbering {series}")
    bench, *_, standing, _, _ = rows[0]
    if standing not in ("in force", "disputed"):
        raise InputError(f"that numbering of {bench} is {standing}: it is not shown")
    return rows[0]
