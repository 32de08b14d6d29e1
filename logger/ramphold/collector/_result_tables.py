"""Tables with the results of each sample, for people who browse the archive; computed when idle.

A sample is dirty from the moment one of its records is filed until its results are computed again.
The collector that computes them holds the sample's row in `dirty`; a record that is filed meanwhile
waits for it and marks the sample again.
"""

import logging
from collections.abc import Callable, Iterable, Sequence

from ramphold.collector._archive_database import Row
from ramphold.collector.archive import Archive
from ramphold.errors import WireError
from ramphold.method.fines import summarise
from ramphold.sample import (
    BenchRecord,
    Chain,
    Record,
    SampleReceived,
    SampleRecord,
    SpecimenRecord,
    kind_name,
    sample_record,
    state_of,
)
from ramphold.wire import decode_body

_log = logging.getLogger("ramphold.collector")

_TABLES = ("sample_results", "stress_results", "specimen_results")


def work_out(archive: Archive, most: int = 1) -> int:
    """Compute the results of up to `most` dirty samples; returns how many there were.

    Raises:
        StoreError: the archive cannot be read or written.
    """
    dirty = archive.database.rows("SELECT series, sample FROM dirty LIMIT ?", (most,))
    for series, sample in dirty:
        try:
            _work_out(archive, series, sample, _keep)
        except WireError as error:
            _log.warning("sample %s of series %s has no results: %s", sample, series, error)
            _work_out(archive, series, sample, lambda *_: None)
    return len(dirty)


def _work_out(
    archive: Archive, series: str, sample: int, keep: Callable[[Archive, str, int], None]
) -> None:
    with archive.transaction():
        # Deleting the row first locks it until the commit.
        where = "WHERE series = ? AND sample = ?"
        if archive.database.write(f"DELETE FROM dirty {where}", (series, sample)):  # noqa: S608
            for table in _TABLES:
                archive.database.write(f"DELETE FROM {table} {where}", (series, sample))  # noqa: S608
            keep(archive, series, sample)


def _keep(archive: Archive, series: str, sample: int) -> None:
    rows = archive.bodies(series, sample)
    links = ["", *(link for _, _, _, link in rows)]
    whole = [previous for _, _, previous, _ in rows] == links[:-1]
    chain = Chain(records=len(rows), newest=rows[-1][0] if rows else 0, sha256=links[-1])
    stresses: list[Row] = []
    specimens: list[Row] = []
    try:
        records = [decode_body(body) for _, body, _, _ in rows]
    except WireError as error:
        _log.warning("sample %s of series %s can't be read: %s", sample, series, error)
        return
    if not records or not isinstance(records[0], SampleReceived):
        return  # the first record is still missing, and will mark the sample again
    try:
        result, trouble = _received(records, records[0]), "" if whole else "records are missing"
        found = sample_record(records, BenchRecord(), chain)
        result, stresses = _sample(found), list(_stresses(found))
        specimens = [_specimen(one) for one in found.specimens]
    except Exception as error:  # noqa: BLE001 - a bench must not stop the results of others
        _log.warning("sample %s of series %s can't be worked out: %s", sample, series, error)
        trouble = f"can't be worked out: {error!r}"[:200]
    _write(
        archive,
        "sample_results",
        [(series, sample, *result, trouble, len(rows), rows[-1][0], links[-1])],
    )
    _write(archive, "stress_results", [(series, sample, *one) for one in stresses])
    _write(archive, "specimen_results", [(series, sample, *one) for one in specimens])


def _write(archive: Archive, table: str, rows: list[Row]) -> None:
    for row in rows:
        marks = ", ".join("?" * len(row))
        archive.database.write(f"INSERT INTO {table} VALUES ({marks})", row)  # noqa: S608 - ours


def _statement(one: SampleReceived) -> Row:
    return (
        one.laboratory_number, one.client_reference, str(one.material), one.size, one.edition,
        str(one.role),
    )  # fmt: skip


def _received(records: Sequence[Record], received: SampleReceived) -> Row:
    state = str(state_of([kind_name(type(one)) for one in records]))
    return (*_statement(received), state, received.utc_ns, None, None, None, None, 0, 0, "")


def _sample(record: SampleRecord) -> Row:
    evidence, analysis = record.evidence, record.sieving.analysis
    found = None if evidence is None else evidence.found
    return (
        *_statement(record.sample),
        str(record.state),
        record.sample.utc_ns,
        record.density.bulk_density_g_cm3,
        None if analysis is None else int(analysis.conforms),
        None if found is None else found.crush_class,
        None if found is None else found.highest_stress_psi,
        len(record.specimens),
        len(record.counted),
        "" if found is None else "; ".join(found.findings),
    )


def _stresses(record: SampleRecord) -> Iterable[Row]:
    by_stress: dict[float, list[float]] = {}
    for stress_psi, fines_pct in record.counted:
        by_stress.setdefault(stress_psi, []).append(fines_pct)
    for stress_psi, fines in sorted(by_stress.items()):
        found = summarise(fines)
        yield stress_psi, found.n, found.mean_pct, found.sd_pct


def _specimen(one: SpecimenRecord) -> Row:
    run, added = one.run, one.added
    return (
        one.number, added.label, added.target_psi, added.press, added.cell,
        None if run is None else run.run,
        None if run is None else run.started_utc_ns,
        None if run is None else run.operator,
        None if run is None else run.verdict,
        one.balance.charge_g, one.balance.pan_g, one.fines_pct, int(one.counts), one.because,
    )  # fmt: skip
