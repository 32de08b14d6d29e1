"""The records of samples and of the bench, each in the chain of its sample."""

from typing import TypeVar

from msgspec import structs

from ramphold.errors import InputError
from ramphold.keys.person_key import OpenedKey
from ramphold.sample import (
    BaseRecord,
    Chain,
    ClockStamp,
    People,
    PersonAdded,
    PersonRetired,
    Record,
    SignedRecord,
    kind_name,
)
from ramphold.store._connection import StoreConnection
from ramphold.wire import decode_body, encode_body, link, signed

R = TypeVar("R", bound=BaseRecord)
S = TypeVar("S", bound=SignedRecord)

# `IS` finds the bench's own records too, whose sample is NULL.
_NEWEST = "SELECT id, link FROM records WHERE sample IS ? ORDER BY id DESC LIMIT 1"

#: Which records say who signs at the bench.
ABOUT_PEOPLE = (
    f"(sample IS NULL AND kind IN ('{kind_name(PersonAdded)}', '{kind_name(PersonRetired)}'))"
)


def _not_known() -> ClockStamp | None:
    return None


class RecordStore:
    """One numbering for the bench, one chain for each sample and one for the bench itself.

    Attributes:
        stamp: gives the time of the boot, which every record is written with; None: not known.

    Every method raises a StoreError where the database can't be read or written.
    """

    def __init__(self, connection: StoreConnection) -> None:
        self._connection = connection
        self.stamp = _not_known

    def append(self, record: R) -> R:
        """Add a record to the chain of its sample; the record with its number."""
        with self._connection.transaction():
            numbered, before = self._numbered(record)
            self._add(numbered, before)
        return numbered

    def append_signed(self, record: S, key: OpenedKey) -> S:
        """Add a record that a person signs; the record with its number and the signature."""
        with self._connection.transaction():
            numbered, before = self._numbered(record)
            done = signed(numbered, before, key)
            self._add(done, before)
        return done

    def people(self) -> People:
        """Who signs at this bench, or has signed."""
        return People(self.where(ABOUT_PEOPLE))

    def _numbered(self, record: R) -> tuple[R, str]:
        """A record with the next number, and the link before it in its chain."""
        numbered = structs.replace(
            record, record=self.newest() + 1, clock=self.stamp() or record.clock
        )
        return numbered, newest_link(self._connection, "sample IS ?", record.sample)

    def _add(self, record: BaseRecord, before: str) -> None:
        body = encode_body(record)
        add_record(self._connection, record.record, body.decode(), link(before, body))

    def one(self, record: int) -> Record:
        """The record of a number.

        Raises:
            InputError: there is none.
        """
        for one in self.where("id = ?", record):
            return one
        raise InputError(f"there is no record {record}")

    def of_sample(self, sample: int | None) -> list[Record]:
        """All records of a sample, or the bench's own, in the order they were written."""
        return self.where("sample IS ?", sample)

    def of_specimen(self, specimen: int) -> list[Record]:
        """All records that name a specimen, in the order they were written."""
        return self.where("specimen = ?", specimen)

    def of_kind(self, kind: type[R], sample: int | None = None) -> list[R]:
        """All records of a kind of a sample, or of the bench, in the order they were written."""
        return self.select(kind, "sample IS ?", sample)

    def after(self, record: int) -> list[Record]:
        """All records after one, of every chain, in the order they were written."""
        return self.where("id > ?", record)

    def newest(self) -> int:
        """Number of the newest record of all; 0 before the first."""
        ((newest,),) = self._connection.rows("SELECT ifnull(max(id), 0) FROM records")
        return int(newest)

    def chain(self, sample: int | None) -> Chain:
        """The end of a sample's chain, or of the bench's own."""
        ((count,),) = self._connection.rows(
            "SELECT count(*) FROM records WHERE sample IS ?", (sample,)
        )
        for newest, sha256 in self._connection.rows(_NEWEST, (sample,)):
            return Chain(records=count, newest=newest, sha256=sha256)
        return Chain(records=0, newest=0, sha256="")

    def where(self, condition: str, *values: object) -> list[Record]:
        """The records that meet a condition of SQL, in the order they were written."""
        sql = f"SELECT body FROM records WHERE {condition} ORDER BY id"  # noqa: S608 - ours
        with self._connection.errors():
            return [decode_body(body) for (body,) in self._connection.rows(sql, values)]

    def select(self, kind: type[R], condition: str, *values: object) -> list[R]:
        """The records of a kind that meet a condition of SQL, in the order they were written."""
        # The kind is no parameter: an index over some kinds is used for a literal only.
        found = self.where(f"kind = '{kind_name(kind)}' AND {condition}", *values)
        return [one for one in found if isinstance(one, kind)]


def newest_link(connection: StoreConnection, where: str, *values: object) -> str:
    """The link of the newest record that meets a condition of SQL; empty if there is none."""
    sql = f"SELECT link FROM records WHERE {where} ORDER BY id DESC LIMIT 1"  # noqa: S608 - our own
    rows = connection.rows(sql, values)
    return str(rows[0][0]) if rows else ""


def add_record(connection: StoreConnection, number: int, body: str, link: str) -> None:
    """Write a record, inside a transaction."""
    sql = "INSERT INTO records (id, body, link) VALUES (?, ?, ?)"
    connection.write(sql, (number, body, link))
