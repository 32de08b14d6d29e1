"""Adds to a bench's database the records that the laboratory's archive has and it has not."""

from collections.abc import Iterable

from msgspec import Struct

from ramphold.errors import StoreError, WireError
from ramphold.sample import RunFinished
from ramphold.store._connection import StoreConnection
from ramphold.store._readings import ADD_TRACE
from ramphold.store._record_store import add_record, newest_link
from ramphold.store._run_store import ADD_COMMAND, ADD_EVENT, END_RUN
from ramphold.store._store import Store
from ramphold.wire import RunMessage, decode_body, link
from ramphold.wire.packed_trace import trace_sha256, unpack_trace


class FiledRecord(Struct, frozen=True, kw_only=True):
    """A record as the archive has it: its text and link, and the run itself with a run's record."""

    number: int
    body: str
    link: str
    run: RunMessage | None = None


def add_filed(store: Store, series: str, bench: str, records: Iterable[FiledRecord]) -> int:
    """Add records that follow those of a database, as the archive filed them; how many there were.

    They stay in the archive's series and are in no outbox, so that the bench goes on where the
    archive ends.

    Args:
        store: the database, opened for writing.
        series: the series that the archive has them in.
        bench: the name of the bench.
        records: in the order of their numbers.

    Raises:
        StoreError: a record is missing, or is not what it was when it was filed; those before it
            are added.
    """
    connection = store.connection()
    added: list[int] = []
    with connection.transaction():
        if store.outbox.series() != series or store.outbox.bench() != bench:
            connection.write("INSERT INTO series (id, bench) VALUES (?, ?)", (series, bench))
    for one in records:
        with connection.transaction():
            _add(connection, store.records.newest() + 1, one)
        added.append(one.number)
    # What a backup had waiting was filed meanwhile, if the archive has a later record.
    store.outbox.taken(series, range(1, max(added, default=0) + 1))
    return len(added)


def _add(connection: StoreConnection, number: int, one: FiledRecord) -> None:
    if one.number != number:
        raise StoreError(
            f"record {number} is missing in the archive: expected all up to the newest"
        )
    try:
        record = decode_body(one.body)
    except WireError as error:
        raise StoreError(f"record {number} of the archive: {error}") from None
    before = newest_link(connection, "sample IS ?", record.sample)
    if link(before, one.body.encode()) != one.link:
        raise StoreError(
            f"record {number} of the archive does not follow from the records before it"
        )
    if isinstance(record, RunFinished):
        _add_run(connection, record, one.run)
    add_record(connection, number, one.body, one.link)


def _add_run(connection: StoreConnection, record: RunFinished, run: RunMessage | None) -> None:
    if run is None or run.rows.sha256() != record.record_sha256:
        raise StoreError(f"run {record.run} of the archive: its rows are not those recorded")
    trace = unpack_trace(run.trace)
    if (len(trace), trace_sha256(trace)) != (record.readings, record.trace_sha256):
        raise StoreError(f"run {record.run} of the archive: its readings are not those recorded")
    rows = run.rows
    connection.write(
        "INSERT INTO runs (id, specimen, operator, plan, state, reason, started_t_ns, "
        "started_utc_ns) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (record.run, record.specimen, record.operator, rows.plan, record.state, record.reason,
         rows.started_t_ns, record.started_utc_ns),
    )  # fmt: skip
    connection.write_many(
        ADD_COMMAND,
        ((record.run, seq, *command) for seq, command in enumerate(rows.commands)),
    )
    connection.write_many(
        ADD_EVENT,
        ((record.run, seq, *event) for seq, event in enumerate(rows.events)),
    )
    connection.write(
        END_RUN,
        (rows.ended_t_ns, record.ended_utc_ns, rows.assessment or None, record.run),
    )
    connection.write(ADD_TRACE, (record.run, record.readings, run.trace))
