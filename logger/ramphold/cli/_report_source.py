"""The source of a report: the database of the bench, or the archive of the laboratory."""

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict, Unpack

from ramphold.cli._database_options import open_database, sample_number
from ramphold.collector.archive import open_archive
from ramphold.collector.archived_sample import find_sample
from ramphold.core.trace import Trace
from ramphold.daemon.config import load_config
from ramphold.errors import InputError
from ramphold.sample import SampleRecord
from ramphold.store import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A whole sample.

    Attributes:
        record: the sample.
        trace: the load of a run; empty if it cannot be read, which is one of the findings.
        findings: what is not as written, a sentence each.
        notes: title and text of what a reader must know of where it comes from.
        disputed: whether its records contradict others that were filed.
        bench: the name of its bench; empty if the database does not know it.
    """

    record: SampleRecord
    trace: Callable[[int], Trace]
    findings: list[str]
    notes: tuple[tuple[str, str], ...] = ()
    disputed: bool = False
    bench: str = ""


class SourceOptions(TypedDict, total=False):
    """Which database a sample is in: options of the command."""

    db: Path | None
    config: Path | None
    archive: str | None
    bench: str | None


@contextlib.contextmanager
def open_source(sample: str, **where: Unpack[SourceOptions]) -> Iterator[Source]:
    """A sample of the given database or archive.

    Raises:
        InputError: none or two are given, or there is no such sample.
        StoreError: it cannot be read.
    """
    db, config = where.get("db"), where.get("config")
    archive, bench = where.get("archive"), where.get("bench")
    if archive is None:
        if bench is not None:
            raise InputError("--bench selects a bench of an archive: expected --archive, too")
        with open_database(db, config) as store:
            name = load_config(config).bench if config else store.outbox.bench()
            yield _of_bench(store, sample, name)
        return
    if db is not None or config is not None:
        raise InputError("which database: expected --archive alone, or --db or --config")
    with open_archive(archive, read_only=True) as opened, opened.snapshot():
        found = find_sample(opened, sample, bench)
        findings = list(found.findings())
        yield Source(
            record=found.record(),
            trace=found.trace,
            findings=findings,
            notes=tuple(found.notes()),
            disputed=found.disputed,
            bench=found.bench_name(),
        )


def _of_bench(store: Store, sample: str, bench: str) -> Source:
    number = sample_number(store, sample)
    audit = store.audit()

    def trace(run: int) -> Trace:
        return audit.traces.get(run, Trace())

    findings = list(audit.findings_of(number))
    record = store.samples.record(number)
    return Source(record=record, trace=trace, findings=findings, bench=bench)
