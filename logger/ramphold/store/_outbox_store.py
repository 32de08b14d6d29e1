"""The records that the laboratory's server has not acknowledged, and the messages they become."""

from collections.abc import Iterable, Sequence

from ramphold.errors import InputError
from ramphold.sample import RunFinished, kind_name
from ramphold.store._connection import StoreConnection
from ramphold.store._readings import read_trace
from ramphold.store._record_store import newest_link
from ramphold.store._run_finished import run_rows
from ramphold.wire import Envelope, RecordMessage, RunMessage, decode_body
from ramphold.wire.packed_trace import pack_trace

_AGAIN = "INSERT OR REPLACE INTO outbox SELECT id, NULL FROM records WHERE id BETWEEN ? AND ?"


class OutboxStore:
    """Only a receipt takes a record out of the outbox; a refused one is parked.

    Every method raises a StoreError where the database can't be read or written.
    """

    def __init__(self, connection: StoreConnection) -> None:
        self._connection = connection

    # --- what waits ----------------------------------------------------------------------------

    def waiting(self, after: int = 0, limit: int = 100) -> list[int]:
        """Numbers of the waiting records after a number, in order."""
        rows = self._connection.rows(
            "SELECT record FROM outbox WHERE parked IS NULL AND record > ? ORDER BY record LIMIT ?",
            (after, limit),
        )
        return [record for (record,) in rows]

    def parked(self) -> list[tuple[int, str]]:
        """Number and reason of each record that was refused."""
        rows = self._connection.rows(
            "SELECT record, parked FROM outbox WHERE parked IS NOT NULL ORDER BY record"
        )
        return [(record, reason) for record, reason in rows]

    def depth(self) -> tuple[int, int]:
        """How many records wait, and how many are parked."""
        ((all_there, parked),) = self._connection.rows(
            "SELECT (SELECT count(*) FROM outbox), "
            "(SELECT count(*) FROM outbox WHERE parked IS NOT NULL)"
        )
        return all_there - parked, parked

    def envelope(self, bench: str, record: int) -> Envelope:
        """The message of a record.

        Raises:
            InputError: there is none of that number.
        """
        rows = self._connection.rows(
            "SELECT body, link, sample FROM records WHERE id = ?", (record,)
        )
        if not rows:
            raise InputError(f"there is no record {record}")
        ((body, link, sample),) = rows
        with self._connection.errors():
            fact = decode_body(body)
            run = self._run(fact) if isinstance(fact, RunFinished) else None
        message = RecordMessage(
            before=newest_link(self._connection, "id = ?", record - 1),
            previous=newest_link(self._connection, "sample IS ? AND id < ?", sample, record),
            link=link,
            body=body,
            run=run,
        )
        return Envelope(
            bench=bench,
            series=self.series(),
            number=record,
            utc_ns=fact.utc_ns,
            subject=kind_name(type(fact)),
            message=message,
        )

    # --- receipts and refusals -----------------------------------------------------------------

    def taken(self, series: str, records: Iterable[int]) -> None:
        """The server has these records; a receipt for an earlier series changes nothing."""
        with self._connection.transaction():
            if series == self.series():
                self._connection.write_many(
                    "DELETE FROM outbox WHERE record = ?", ((record,) for record in records)
                )

    def park(self, series: str, record: int, reason: str) -> None:
        """The server refused a record; it waits no longer."""
        with self._connection.transaction():
            if series == self.series():
                self._connection.write(
                    "UPDATE outbox SET parked = ? WHERE record = ?", (reason, record)
                )

    def requeue(self, series: str, ranges: Sequence[tuple[int, int]]) -> None:
        """The server lacks these records of a series: first and last number of each range."""
        with self._connection.transaction():
            if series == self.series():
                self._connection.write_many(_AGAIN, iter(ranges))

    def unpark(self) -> int:
        """Let every refused record wait again; how many there were."""
        with self._connection.transaction():
            ((parked,),) = self._connection.rows(
                "SELECT count(*) FROM outbox WHERE parked IS NOT NULL"
            )
            self._connection.write("UPDATE outbox SET parked = NULL WHERE parked IS NOT NULL")
        return int(parked)

    # --- series --------------------------------------------------------------------------------

    def series(self) -> str:
        """Id of the numbering that records are sent in: 32 hex digits, of this database alone."""
        ((name,),) = self._connection.rows("SELECT id FROM series ORDER BY number DESC LIMIT 1")
        return str(name)

    def all_series(self) -> set[str]:
        """Ids of every numbering that records were ever sent in."""
        return {name for (name,) in self._connection.rows("SELECT id FROM series")}

    def bench(self) -> str:
        """The name under which the records are sent; empty if none was ever sent."""
        ((name,),) = self._connection.rows(
            "SELECT coalesce(bench, '') FROM series ORDER BY number DESC LIMIT 1"
        )
        return str(name)

    def series_for(self, bench: str) -> str:
        """Id of the numbering for a bench of this name.

        A numbering keeps its name: under another name a new one begins, and every record is sent
        again in it.
        """
        with self._connection.transaction():
            ((name, owner),) = self._connection.rows(
                "SELECT id, bench FROM series ORDER BY number DESC LIMIT 1"
            )
            if owner is None:
                self._connection.write(
                    "INSERT INTO series (id, bench) VALUES (?, ?)", (name, bench)
                )
            elif owner != bench:
                self._begin(bench)
        return self.series()

    def begin_series(self, bench: str) -> str:
        """Send every record again, in a new series; its id.

        For a server that holds other records of the same numbers, as after the database was
        restored from an old copy.
        """
        with self._connection.transaction():
            self._begin(bench)
        return self.series()

    # --- inside --------------------------------------------------------------------------------

    def _begin(self, bench: str) -> None:
        self._connection.write("INSERT INTO series (bench) VALUES (?)", (bench,))
        self._connection.write("INSERT OR REPLACE INTO outbox SELECT id, NULL FROM records")

    def _run(self, fact: RunFinished) -> RunMessage:
        packed = self._connection.rows("SELECT packed FROM traces WHERE run = ?", (fact.run,))
        # The rows of a run that has only just ended are not packed yet.
        trace = packed[0][0] if packed else pack_trace(read_trace(self._connection, fact.run))
        return RunMessage(rows=run_rows(self._connection, fact.run), trace=trace)
