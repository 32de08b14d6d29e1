"""The records of samples and of the bench, each in the chain of its sample."""

from collections.abc import Iterable
from typing import Any, TypeVar

from msgspec import structs

from ramphold.errors import InputError
from ramphold.sample import (
    BaseRecord,
    Chain,
    Record,
    Shaking,
    kind_name,
    standing_shakings,
)
from ramphold.store._connection import Connection, Statements
from ramphold.wire import decode_body, encode_body, link

__all__ = ["RecordRows", "append_record"]

R = TypeVar("R", bound=BaseRecord)

# What went on the shaker so many records ago was forgotten there.
_SHAKEN_SINCE = 2000
# `IS` finds the bench's own records too, whose sample is NULL.
_BODIES = "SELECT body FROM records "
_NEWEST = "SELECT id, link FROM records WHERE sample IS ? ORDER BY id DESC LIMIT 1"


def append_record(connection: Statements, record: R) -> R:
    """Add a record to the chain of its sample, inside a transaction; the record as numbered."""
    ((last,),) = connection.rows("SELECT ifnull(max(id), 0) FROM records")
    numbered = structs.replace(record, record=last + 1)
    newest = connection.rows(_NEWEST, (record.sample,))
    body = encode_body(numbered)
    connection.write(
        "INSERT INTO records (id, body, link) VALUES (?, ?, ?)",
        (last + 1, body.decode(), link(newest[0][1] if newest else "", body)),
    )
    return numbered


class RecordRows:
    """One numbering for the bench, one chain for each sample and one for the bench itself."""

    _connection: Connection

    def add_record(self, record: R) -> R:
        """Keep a record at the end of its chain; the record with its number.

        Raises:
            StoreError: it could not be kept.
        """
        with self._connection.transaction():
            return append_record(self._connection, record)

    def record(self, record: int) -> Record:
        """One record.

        Raises:
            InputError: there is none of that number.
            StoreError: it could not be read.
        """
        for one in self._decoded("WHERE id = ?", record):
            return one
        raise InputError(f"there is no record {record}")

    def records(self, sample: int | None) -> list[Record]:
        """All records of a sample, or the bench's own, in the order they were written.

        Raises:
            StoreError: they could not be read.
        """
        return self._decoded("WHERE sample IS ? ORDER BY id", sample)

    def newest_record(self) -> int:
        """Number of the newest record of all; 0 before the first.

        Raises:
            StoreError: it could not be read.
        """
        ((newest,),) = self._connection.rows("SELECT ifnull(max(id), 0) FROM records")
        return int(newest)

    def records_after(self, record: int) -> list[Record]:
        """All records after one, of every chain, in the order they were written.

        Raises:
            StoreError: they could not be read.
        """
        return self._decoded("WHERE id > ? ORDER BY id", record)

    def shakings(self) -> tuple[Shaking, ...]:
        """All of the bench that nobody took off the shaker yet, the first to be done in front.

        Raises:
            StoreError: they could not be read.
        """
        newest = self._decoded(
            "WHERE id > (SELECT max(id) FROM records) - ? "
            "AND kind IN ('shaking', 'shaking end', 'mass', 'exclusion') ORDER BY id",
            _SHAKEN_SINCE,
        )
        return standing_shakings(newest)

    def records_of_specimen(self, specimen: int) -> list[Record]:
        """All records that name a specimen, in the order they were written.

        Raises:
            StoreError: they could not be read.
        """
        return self._decoded("WHERE specimen = ? ORDER BY id", specimen)

    def records_of_kind(self, kind: type[R], sample: int | None = None) -> list[R]:
        """All records of one kind of a sample, or of the bench, in the order they were written.

        Raises:
            StoreError: they could not be read.
        """
        name = kind_name(kind)
        found = self._decoded("WHERE sample IS ? AND kind = ? ORDER BY id", sample, name)
        return [one for one in found if isinstance(one, kind)]

    def chain(self, sample: int | None) -> Chain:
        """The end of a chain.

        Raises:
            StoreError: it could not be read.
        """
        ((count,),) = self._connection.rows(
            "SELECT count(*) FROM records WHERE sample IS ?", (sample,)
        )
        for newest, sha256 in self._connection.rows(_NEWEST, (sample,)):
            return Chain(records=count, newest=newest, sha256=sha256)
        return Chain(records=0, newest=0, sha256="")

    def _decoded(self, where: str, *values: object) -> list[Record]:
        with self._connection.errors():
            return decoded(self._connection.rows(_BODIES + where, values))


def decoded(rows: Iterable[tuple[Any, ...]]) -> list[Record]:
    """Records of their bodies."""
    return [decode_body(body) for (body,) in rows]
