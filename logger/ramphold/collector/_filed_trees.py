"""The tree over what was filed of each series, and what is signed of it by bench and collector.

Filed records never change, so a tree that is kept in memory only grows. It is made again from the
archive after a restart.
"""

import contextlib
import logging
from collections.abc import Iterable

import msgspec
from msgspec import structs

from ramphold.collector._archive_database import Database
from ramphold.collector._message_filing import Receipts
from ramphold.collector._series_standing import settle
from ramphold.collector.archive import BenchSeries
from ramphold.collector.bench_keys import is_accepted
from ramphold.collector.config import CollectConfig, key_folder
from ramphold.errors import KeyFileError
from ramphold.keys.ed25519 import SigningKey, fingerprint
from ramphold.keys.key_change import KeyChange, key_limits
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.signed_head import SignedHead, sign_head
from ramphold.undecodable import UNDECODABLE
from ramphold.wire import StateMessage

_PAGE = 1000
# A head that comes after more records were filed needs a tree of its own.
_LATE_EVERY_NS = 10 * 10**9
_ADD = (
    "INSERT INTO heads (series, word, count, root, utc_ns, key, signature, fingerprint, agrees) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (series, signature) DO NOTHING"
)


_log = logging.getLogger("ramphold.collector")


def collector_key(config: CollectConfig, utc_ns: int) -> SigningKey | None:
    """The collector's key, made at its first start; None where it must not be used, with a warning.

    A key that is lost is not made anew while the folder still has its public half.
    """
    try:
        folder = key_folder(config)
        folder.settle({one.new for one in folder.changes()})
        key = folder.open()
        if key is not None and utc_ns < folder.made_utc_ns():
            _log.warning("the clock is before the key's date: set it, receipts are dated by it")
        if key is not None or folder.public() is None:
            return key or folder.make(utc_ns)
    except KeyFileError as error:
        _log.warning("receipts are not signed: %s", error)
    else:
        _log.warning(
            "receipts are not signed: %s/own.key is missing: put it back from its backup, or "
            "give it up (`ramphold key renew-collector --lost`)",
            folder.path,
        )
    return None


def collector_changes(config: CollectConfig) -> tuple[KeyChange, ...]:
    """How the collector came to its key; nothing where that can't be read, with a warning."""
    try:
        return key_folder(config).changes()
    except KeyFileError as error:
        _log.warning("benches are not told of the new key: %s", error)
        return ()


class FiledTrees:
    """Signs what was filed, and compares it with what the benches signed.

    Every method runs in a transaction, and raises StoreError if the archive cannot be used.

    Args:
        key: the collector's key; None if it has none, and signs nothing.
        changes: how it came to this key.
    """

    def __init__(self, key: SigningKey | None, changes: tuple[KeyChange, ...] = ()) -> None:
        self._key, self._changes = key, changes
        # Benches send back what an earlier key signed, too.
        self._own = {} if key is None else key_limits(key.public, ((0, one) for one in changes))
        self._trees: dict[str, MerkleTree] = {}
        self._waiting: dict[str, dict[int, tuple[str, SignedHead]]] = {}
        self._late_ns: dict[str, int] = {}

    def sign(self, database: Database, receipts: Receipts, utc_ns: int) -> Receipts:
        """The same receipts, each with what is signed of its series."""
        return {
            sender: structs.replace(
                receipt,
                head=self.receipt(database, receipt.series, utc_ns),
                key_changes=self._changes,
            )
            for sender, receipt in receipts.items()
        }

    def take_all(self, database: Database, benches: Iterable[BenchSeries], utc_ns: int) -> None:
        """Compare what the benches told last with what was filed."""
        for one in benches:
            with contextlib.suppress(*UNDECODABLE):
                state = msgspec.json.decode(one.state, type=StateMessage | None)
                for head in (state.head, state.receipt) if state else ():
                    if head is not None:
                        self.take(database, one.bench, one.series, head, utc_ns)

    def receipt(self, database: Database, series: str, utc_ns: int) -> SignedHead | None:
        """The signed receipt for all that was filed of a series without a gap."""
        tree = self._extended(database, series)
        if self._key is None or not tree.count:
            return None
        return sign_head(self._key, "receipt", tree.count, tree.root(), utc_ns)

    def take(
        self, database: Database, bench: str, series: str, head: SignedHead, utc_ns: int
    ) -> None:
        """Compare a head that a bench sent with what was filed, now or once it is filed.

        A receipt that the bench sends back is one of this collector's, or says nothing.
        """
        own = head.key in self._own
        if not head.is_right or (head.word == "receipt") != own:
            return
        tree = self._extended(database, series)
        if head.count > tree.count:
            # One of each kind waits: the newest says all that the ones before it said.
            kinds = {} if head.word == "head" else self._waiting.get(series, {})
            self._waiting[series] = {**kinds, head.count: (bench, head)}
        elif head.count == tree.count:
            _keep(database, bench, series, head, tree.root())
        elif utc_ns - self._late_ns.get(series, 0) >= _LATE_EVERY_NS:
            self._late_ns[series] = utc_ns
            _keep(database, bench, series, head, root_over(database, series, head.count))

    def _extended(self, database: Database, series: str) -> MerkleTree:
        """The tree up to the first gap."""
        tree = self._trees.setdefault(series, MerkleTree())
        waiting = self._waiting.get(series, {})
        while True:
            rows = _links(database, series, tree.count)
            for record, link in rows:
                if record != tree.count + 1:
                    return tree
                tree.append(link)
                if found := waiting.pop(record, None):
                    _keep(database, found[0], series, found[1], tree.root())
            if len(rows) < _PAGE:
                return tree


def root_over(database: Database, series: str, count: int, tree: MerkleTree | None = None) -> str:
    """The root over the first records of a series; over fewer if there is a gap before.

    A tree over fewer of them grows to it, so that a row of counts reads each record once.
    """
    tree = tree or MerkleTree()
    while tree.count < count:
        rows = _links(database, series, tree.count, min(count - tree.count, _PAGE))
        for record, link in rows:
            if record != tree.count + 1:
                return tree.root()
            tree.append(link)
        if not rows:
            break
    return tree.root()


def _links(database: Database, series: str, after: int, most: int = _PAGE) -> list[tuple[int, str]]:
    return database.rows(
        "SELECT record, link FROM events WHERE series = ? AND record > ? ORDER BY record LIMIT ?",
        (series, after, most),
    )


def _keep(database: Database, bench: str, series: str, head: SignedHead, root: str) -> None:
    agrees, whose = int(head.root == root), fingerprint(head.key)
    row = (series, *structs.astuple(head), whose, agrees)
    if not database.write(_ADD, row) or head.word != "head" or not agrees:
        return
    if (accepted := is_accepted(database, bench, series, head)) is None:
        return
    database.write(
        "UPDATE benches SET fingerprint = ?, vouched = CASE WHEN ? > 0 AND vouched < ? THEN ? "
        "ELSE vouched END WHERE series = ?",
        (whose, int(accepted), head.count, head.count, series),
    )
    # Its key may show that it is a bench under another name.
    settle(database, series, head.utc_ns, ())
