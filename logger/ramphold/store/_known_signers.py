"""Whose keys may have signed the heads and receipts of a database."""

from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.key_change import key_limits
from ramphold.keys.signed_head import SignedHead
from ramphold.store._connection import StoreConnection
from ramphold.store._head_store import key_changes, signed_on


class KnownSigners:
    """The keys of a bench and of its collectors: those that are known, and those that they led to.

    Args:
        connection: the database.
        key: the bench's public key; None if it is not known, and any may have signed.
        collector: that of its collector; None likewise.
    """

    def __init__(self, connection: StoreConnection, key: str | None, collector: str | None) -> None:
        changes = key_changes(connection, "bench")
        self._limits = None if key is None else key_limits(key, changes)
        self._losses = {change.new: change for _, change in changes if change.is_loss}
        self._collectors = None if collector is None else {collector}
        # Every change of collectors is covered by the bench's own heads.
        for _, change in reversed(key_changes(connection, "collector")):
            if self._collectors is not None and change.new in self._collectors:
                self._collectors.add(change.old)

    def wrong(self, head: SignedHead) -> str | None:
        """What is wrong with the signature of a head or a receipt, in words; None if nothing is."""
        what = f"the {head.word} over {head.count} records of {signed_on(head)}"
        if not head.is_right:
            return f"{what}: its signature is wrong"
        why = self._foreign_receipt(head) if head.word == "receipt" else self._foreign_head(head)
        return f"{what} is signed by {why}" if why else None

    def _foreign_receipt(self, head: SignedHead) -> str:
        if self._collectors is None or head.key in self._collectors:
            return ""
        return f"another collector, {fingerprint(head.key)[:16]}"

    def _foreign_head(self, head: SignedHead) -> str:
        if self._limits is None or head.count <= self._limits.get(head.key, 0):
            return ""
        short = fingerprint(head.key)[:16]
        if head.key in self._limits:
            return f"key {short}, which record {self._limits[head.key]} replaced"
        if (loss := self._losses.get(head.key)) is not None:
            return f"key {short}, in the place of a lost one, says {loss.by}: ask, then name it"
        return f"another key, {short}"
