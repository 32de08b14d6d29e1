"""What was signed of the records: heads of the bench, and receipts of the collector."""

import contextlib
from collections.abc import Iterable

from msgspec import structs

from ramphold.clock import utc_text
from ramphold.errors import WireError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.key_change import KeyChange, KeyOwner
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.signed_head import HeadWord, SignedHead, sign_head
from ramphold.sample import KeyChanged
from ramphold.store._connection import StoreConnection
from ramphold.wire import decode_body

#: The columns of a head, in the order of its fields.
HEAD_COLUMNS = ", ".join(field.name for field in structs.fields(SignedHead))
_ADD = f"INSERT INTO heads ({HEAD_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)"  # noqa: S608 - our own


class HeadStore:
    """Signed heads over the whole numbering: every sample, the bench's own records, all chains.

    Every method raises a StoreError where the database can't be read or written.
    """

    def __init__(self, connection: StoreConnection) -> None:
        self._connection = connection
        self._tree = MerkleTree()
        self._witnessed = MerkleTree()
        self._signed: int | None = None

    def newest(self, word: HeadWord = "head") -> SignedHead | None:
        """The head or receipt over the most records; None before the first."""
        found = self.all(word, "ORDER BY count DESC, number DESC LIMIT 1")
        return found[0] if found else None

    def all(self, word: HeadWord, order: str = "ORDER BY count, number") -> list[SignedHead]:
        """All heads or receipts."""
        return read_heads(self._connection, f"word = ? {order}", word)

    def tree(self) -> MerkleTree:
        """The tree over all records there are."""
        for (link,) in self._connection.rows(
            "SELECT link FROM records WHERE id > ? ORDER BY id", (self._tree.count,)
        ):
            self._tree.append(link)
        return self._tree

    def sign(self, key: SigningKey, utc_ns: int) -> SignedHead | None:
        """Sign and keep the head over all records; None if it was signed before."""
        tree = self.tree()
        if self._signed is None:
            before = self.newest()
            self._signed = before.count if before else 0
        if self._signed >= tree.count:
            return None
        head = sign_head(key, "head", tree.count, tree.root(), utc_ns)
        self.keep(head)
        self._signed = tree.count
        return head

    def keep(self, head: SignedHead) -> None:
        """Keep a head or a receipt. A head that a power cut takes is signed again."""
        with self._connection.unhurried_transaction():
            self._connection.write(_ADD, structs.astuple(head))

    def root(self, count: int) -> str | None:
        """The root over the first records; None if there are not so many."""
        if count < self._witnessed.count:
            self._witnessed = MerkleTree()
        # Receipts cover ever more records, so that each record is read once.
        for (link,) in self._connection.rows(
            "SELECT link FROM records WHERE id > ? AND id <= ? ORDER BY id",
            (self._witnessed.count, count),
        ):
            self._witnessed.append(link)
        return self._witnessed.root() if self._witnessed.count == count else None

    def contradiction(self, heads: Iterable[SignedHead]) -> str | None:
        """Why the records are not those of a signed head, in words; None if they are."""
        for head in heads:
            found, when = self.root(head.count), signed_on(head)
            if found is None:
                return f"records up to {head.count} were signed on {when}: some are gone"
            if found != head.root:
                return f"records 1 to {head.count} are not those that were signed on {when}"
        return None


def read_heads(connection: StoreConnection, where: str, *values: object) -> list[SignedHead]:
    """The heads that meet a condition of SQL, which may go on with an order."""
    rows = connection.rows(f"SELECT {HEAD_COLUMNS} FROM heads WHERE {where}", values)  # noqa: S608 - ours
    names = HEAD_COLUMNS.split(", ")
    return [SignedHead(**dict(zip(names, row, strict=True))) for row in rows]


def signed_on(head: SignedHead) -> str:
    """When it was signed, in words."""
    return f"{utc_text(head.utc_ns)} UTC"


def key_changes(connection: StoreConnection, whose: KeyOwner) -> list[tuple[int, KeyChange]]:
    """The changes of a key, each with the number of its record; what can't be read is left out."""
    found = []
    for (body,) in connection.rows(
        "SELECT body FROM records WHERE sample IS NULL AND kind = 'key change' ORDER BY id"
    ):
        with contextlib.suppress(WireError):
            record = decode_body(body)
            if isinstance(record, KeyChanged) and record.whose == whose:
                found.append((record.record, record.change))
    return found
