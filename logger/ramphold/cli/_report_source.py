"""Where a report is made from: the bench's own database, or the laboratory's archive."""

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from ramphold.cli._database_options import open_database, sample_number
from ramphold.collector import find_sample, open_archive
from ramphold.errors import InputError
from ramphold.sample import SampleRecord, Trace
from ramphold.store import Store

__all__ = ["Source", "open_source"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A sample, whole.

    Attributes:
        record: what its records come to.
        trace: the load of a run; empty where it can't be read, which is among the findings.
        findings: what is not as it was written, a sentence each.
    """

    record: SampleRecord
    trace: Callable[[int], Trace]
    findings: list[str]


@contextlib.contextmanager
def open_source(
    sample: str, *, db: Path | None, config: Path | None, archive: str | None, bench: str | None
) -> Iterator[Source]:
    """A sample of the database or of the archive that is named.

    Raises:
        InputError: none is named, or two are; or there is no such sample.
        StoreError: it can't be read.
    """
    if archive is None:
        if bench is not None:
            raise InputError("--bench tells benches of an archive apart: expected --archive, too")
        with open_database(db, config) as store:
            yield _of_bench(store, sample)
        return
    if db is not None or config is not None:
        raise InputError("which database: expected --archive alone, or --db or --config")
    with open_archive(archive, read_only=True) as opened, opened.snapshot():
        found = find_sample(opened, sample, bench)
        findings = list(found.findings())
        yield Source(record=found.record(spread=True), trace=found.trace, findings=findings)


def _of_bench(store: Store, sample: str) -> Source:
    number = sample_number(store, sample)
    audit = store.audit()

    def trace(run: int) -> Trace:
        return audit.traces.get(run) or Trace(run=run)

    findings = list(audit.findings_of(number))
    return Source(record=store.sample_record(number, spread=True), trace=trace, findings=findings)
