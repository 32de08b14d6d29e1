"""Keeps the collector's signed receipts: its word for the records that it has filed."""

import logging
from collections.abc import Sequence

from ramphold.errors import CommandRefused, KeyFileError
from ramphold.keys.ed25519 import fingerprint, read_fingerprint
from ramphold.keys.key_change import KeyChange
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.signed_head import SignedHead
from ramphold.sample import KeyChanged
from ramphold.store import Store

_log = logging.getLogger(__name__)


class ReceiptKeeper:
    """The newest receipt of the one collector whose key this bench knows.

    The first receipt tells the collector's key, which is then kept outside the database. A key that
    the known one has signed as its successor is taken and recorded; any other only by a person.
    `save` runs in the store's thread, at most once a second; of the receipts between only the
    newest counts.

    Attributes:
        text: what is wrong with the receipts; empty if nothing is.
    """

    def __init__(self) -> None:
        self.text = ""
        self._newest: SignedHead | None = None
        self._changes: Sequence[KeyChange] = ()
        self._refused: SignedHead | None = None
        self._saved = 0

    def take(self, receipt: SignedHead, changes: Sequence[KeyChange] = ()) -> None:
        """Take a receipt that has just come, with the changes of its collector's key."""
        if self._newest is None or receipt.count > self._newest.count:
            self._newest, self._changes = receipt, changes

    def save(self, store: Store) -> None:
        """Check the newest receipt against the records, and keep it.

        Raises:
            StoreError: the database cannot be read or written.
        """
        receipt, self._newest = self._newest, None
        if receipt is None or receipt.count <= self._saved:
            return
        try:
            self._save(store, KeyFolder.beside(store.path), receipt)
        except KeyFileError as error:
            self._tell(str(error))

    def accept(self, store: Store, typed: str, reason: str, by: str, utc_ns: int) -> KeyChanged:
        """Keep the receipts of the collector that was refused last, by a person's word.

        Args:
            store: where that is recorded, and the refused receipt is kept.
            typed: the fingerprint of its key, as the person knows it.
            reason: why.
            by: the person's initials.
            utc_ns: now.

        Raises:
            CommandRefused: no collector of that key was refused.
            InputError: it is no fingerprint.
            KeyFileError: the folder of keys cannot be read or written.
            StoreError: the database cannot be written.
        """
        folder, digits = KeyFolder.beside(store.path), read_fingerprint(typed)
        known, receipt = folder.collector(), self._refused
        if known is None or receipt is None or not fingerprint(receipt.key).startswith(digits):
            heard = fingerprint(receipt.key) if receipt else "none since the start"
            raise CommandRefused(
                f"no receipt of a collector with that key was refused; the last refused: {heard}"
            )
        change = KeyChange(whose="collector", old=known, new=receipt.key, by=by, reason=reason,
                           utc_ns=utc_ns)  # fmt: skip
        recorded = store.records.append(KeyChanged.of(change))
        folder.keep_collector(receipt.key)
        self._refused = None
        self._save(store, folder, receipt)
        return recorded

    def _save(self, store: Store, folder: KeyFolder, receipt: SignedHead) -> None:
        known = folder.collector()
        if receipt.word != "receipt" or not receipt.is_right:
            self._tell("a receipt's signature is wrong: it is not kept")
            return
        if known is None:
            folder.keep_collector(receipt.key)
        elif known != receipt.key and not self._follow(store, folder, known, receipt.key):
            self._refused = receipt
            self._tell(
                "receipts are signed by another collector and are not kept, key "
                f"{fingerprint(receipt.key)}: if that is right, `ramphold key take-collector`"
            )
            return
        self._tell(store.heads.contradiction([receipt]) or "")
        self._saved = receipt.count
        before = store.heads.newest("receipt")
        if before is None or before.count < receipt.count:
            store.heads.keep(receipt)
            folder.keep(receipt)

    def _follow(self, store: Store, folder: KeyFolder, known: str, key: str) -> bool:
        """Take the collector's new key if the known one has signed for it, over any steps."""
        steps: list[KeyChange] = []
        while known != key:
            here = [one for one in self._changes if one.old == known and one not in steps]
            step = next((one for one in here if one.whose == "collector" and one.is_renewal), None)
            if step is None:
                return False
            steps.append(step)
            known = step.new
        for step in steps:
            store.records.append(KeyChanged.of(step))
        folder.keep_collector(key)
        _log.warning("the collector has renewed its key: %s", fingerprint(key))
        return True

    def _tell(self, text: str) -> None:
        if text and text != self.text:
            _log.warning("%s", text)
        self.text = text
