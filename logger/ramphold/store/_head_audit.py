"""Whether the records are those that were signed, and what of them nobody signed."""

from collections.abc import Iterator, Sequence

from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.signed_head import SignedHead
from ramphold.store._connection import StoreConnection
from ramphold.store._head_store import read_heads, signed_on
from ramphold.store._known_signers import KnownSigners

_MOST_PAGES = 10


class HeadAudit:
    """One pass over the links and all that was signed of them; iterate over `findings` first.

    Args:
        connection: the database.
        key: the bench's public key, from its key folder or of a known fingerprint.
        collector: that of its collector; None if it is not known.
        kept: heads and receipts from outside the database.

    Attributes:
        records: how many records there are.
        signed: the newest head that is right, or None.
        witnessed: the newest receipt that is right, or None.
        heads, receipts: how many are right.
    """

    def __init__(
        self,
        connection: StoreConnection,
        *,
        key: str | None,
        collector: str | None,
        kept: Sequence[SignedHead],
    ) -> None:
        self._connection = connection
        self._key = key
        self._collector = collector
        self._kept = kept
        self.records = 0
        self.signed: SignedHead | None = None
        self.witnessed: SignedHead | None = None
        self.heads = self.receipts = 0

    def findings(self) -> Iterator[str]:
        """Everything that is not as it was signed, one sentence each.

        Raises:
            StoreError: the database can't be read.
        """
        with self._connection.errors():
            yield from self._integrity()
            signers = KnownSigners(self._connection, self._key, self._collector)
            right = []
            for head in (*read_heads(self._connection, "TRUE ORDER BY count"), *self._kept):
                if (wrong := signers.wrong(head)) is None:
                    right.append(head)
                else:
                    yield wrong
            yield from self._roots(sorted(right, key=lambda head: head.count))

    def _integrity(self) -> Iterator[str]:
        rows = self._connection.rows(f"PRAGMA integrity_check({_MOST_PAGES})")
        for (told,) in rows:
            if told != "ok":
                yield f"the file is damaged: {' '.join(told.split())}"

    def _roots(self, heads: Sequence[SignedHead]) -> Iterator[str]:
        """Compare each head with the tree as it was; the first difference tells all."""
        waiting = list(reversed(heads))
        tree, good, changed = MerkleTree(), 0, False
        for (link,) in self._connection.rows("SELECT link FROM records ORDER BY id"):
            tree.append(link)
            root = tree.root() if waiting and waiting[-1].count == tree.count else ""
            while waiting and waiting[-1].count == tree.count:
                head = waiting.pop()
                if head.root == root:
                    good = head.count
                    self._count(head)
                elif not changed:
                    changed = True
                    first = min(good + 1, head.count)
                    yield (
                        f"records {first} to {head.count} are not those of the {head.word} that "
                        f"was signed on {signed_on(head)}"
                    )
        self.records = tree.count
        if waiting:
            newest = waiting[0]
            yield (
                f"records {tree.count + 1} to {newest.count} are missing: a {newest.word} of "
                f"{signed_on(newest)} covers them"
            )

    def _count(self, head: SignedHead) -> None:
        if head.word == "head":
            self.signed, self.heads = head, self.heads + 1
        else:
            self.witnessed, self.receipts = head, self.receipts + 1

    @property
    def unsigned(self) -> str:
        """What nothing vouches for, in words; empty if all records are signed by the right key."""
        count = self.signed.count if self.signed else 0
        if count < self.records:
            return (
                f"records {count + 1} to {self.records} are not signed: anybody may have written "
                "them; the daemon signs what it finds at its start"
            )
        if self.signed is not None and self._key is None:
            return (
                f"the records are signed by key {fingerprint(self.signed.key)[:16]}, which nothing "
                "here vouches for: name the bench's with --fingerprint"
            )
        return ""
