"""The bench's database, opened."""

import contextlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Self

from ramphold.errors import StoreUnwritable
from ramphold.keys.key_change import KeyChange, KeyOwner
from ramphold.keys.signed_head import SignedHead
from ramphold.store._audit import Audit
from ramphold.store._bench_store import BenchStore
from ramphold.store._connection import StoreConnection
from ramphold.store._hand_store import HandStore
from ramphold.store._head_audit import HeadAudit
from ramphold.store._head_store import HeadStore, key_changes
from ramphold.store._outbox_store import OutboxStore
from ramphold.store._record_store import RecordStore
from ramphold.store._run_store import RunStore
from ramphold.store._sample_store import MassStore, SampleStore, SpecimenStore
from ramphold.store._schema_made import check_version, make_schema
from ramphold.store._table_store import TableStore
from ramphold.wire import link


class Store:
    """Everything that the bench keeps; `open` or `read` makes it, `with` or `close` ends it.

    It is synchronous, and belongs to the thread that opened it: the daemon gives it a thread of
    its own. Every call has committed what it writes when it returns. A failure is a StoreError
    that names the file and says what to do; nothing was written then.

    Attributes:
        path: the file.
        records: every fact, in one numbering and a chain for each sample.
        samples, specimens, masses, bench: what the records add up to.
        runs: the course of each run, with its readings.
        hands: what the runs of each person on each press taught.
        outbox: the records that the laboratory's server has not acknowledged.
        tables: everything, table by table.
        heads: what was signed of the records, by the bench and by the collector.
        interrupted: numbers of the runs that a dead daemon had left live; they are ended now.
    """

    def __init__(self, connection: StoreConnection) -> None:
        self._connection = connection
        self.path = connection.path
        self.records = RecordStore(connection)
        self.bench = BenchStore(connection, self.records)
        self.samples = SampleStore(connection, self.records, self.bench)
        self.specimens = SpecimenStore(connection, self.records, self.samples)
        self.masses = MassStore(self.records)
        self.runs = RunStore(connection, self.records, self.specimens)
        self.hands = HandStore(connection)
        self.outbox = OutboxStore(connection)
        self.tables = TableStore(connection)
        self.heads = HeadStore(connection)
        self.interrupted: tuple[int, ...] = ()

    @classmethod
    def open(
        cls,
        path: Path,
        recover: Callable[["Store"], tuple[int, ...]] = lambda store: store.runs.interrupt_live(),
    ) -> Self:
        """Open the database, create it if there is none, and bring it up to date.

        Args:
            path: the file.
            recover: sees to the run that a dead daemon left live; numbers of those it interrupted.

        Raises:
            StoreUnwritable: it takes nothing now, such as on a full disk.
            StoreError: it can't be used, another daemon has it, or a newer version wrote it.
        """
        connection = StoreConnection(path)
        try:
            make_schema(connection)
            store = cls(connection)
            store.interrupted = recover(store)
        except BaseException:
            connection.close()
            raise
        return store

    @classmethod
    def read(cls, path: Path) -> Self:
        """Open a database read-only, beside the daemon that owns it or without one.

        Raises:
            StoreError: there is none, it can't be read, or another version wrote it.
        """
        return cls._reading(StoreConnection(path, read_only=True))

    @classmethod
    def open_unwritable(cls, path: Path) -> Self:
        """Open a database that takes nothing now, to be read alone: beside it nobody can.

        Raises:
            StoreError: it can't be read either.
        """
        try:
            connection = StoreConnection(path, alone=True)
        except StoreUnwritable:
            return cls.read(path)
        return cls._reading(connection)

    @classmethod
    def _reading(cls, connection: StoreConnection) -> Self:
        try:
            check_version(connection)
        except BaseException:
            connection.close()
            raise
        return cls(connection)

    @contextlib.contextmanager
    def snapshot(self) -> Iterator[None]:
        """Read one consistent state inside, whatever the daemon writes meanwhile."""
        with self._connection.snapshot():
            yield

    def audit(self) -> Audit:
        """An audit of everything, for changes made outside the program."""
        return Audit(self._connection)

    def links(self) -> dict[int, str]:
        """The link of every record, worked out of its text and the link stored before it."""
        ends: dict[int | None, str] = {}
        found = {}
        for number, sample, body, stored in self._connection.rows(
            "SELECT id, sample, body, link FROM records ORDER BY id"
        ):
            found[number] = link(ends.get(sample, ""), body.encode())
            ends[sample] = stored
        return found

    def key_changes(self, whose: KeyOwner) -> list[tuple[int, KeyChange]]:
        """The changes of a key, each with the number of its record."""
        return key_changes(self._connection, whose)

    def audit_heads(
        self, *, key: str | None, collector: str | None = None, kept: Sequence[SignedHead] = ()
    ) -> HeadAudit:
        """An audit of what was signed; arguments as for `HeadAudit`."""
        return HeadAudit(self._connection, key=key, collector=collector, kept=kept)

    def connection(self) -> StoreConnection:
        """The open database, for other modules of this package."""
        return self._connection

    @property
    def touched(self) -> bool:
        """Whether another program has written into the file since this was set to False."""
        return self._connection.touched

    @touched.setter
    def touched(self, value: bool) -> None:
        self._connection.touched = value

    def write_out(self) -> bool:
        """Write the write-ahead log into the file, so that the file alone is whole; whether it is.

        A reader that is in the way is not waited for.
        """
        return self._connection.write_out()

    def try_to_write(self) -> None:
        """Whether a commit would be taken now.

        Raises:
            StoreUnwritable: it would not.
        """
        self._connection.try_to_write()

    def freeze(self) -> None:
        """Write nothing into the file any more; it can still be read."""
        self._connection.freeze()

    def close(self) -> None:
        """Close the database."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
