"""Keeps the collector's signed receipts: its word for the records that it has filed."""

import logging

from ramphold.errors import KeyFileError
from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.signed_head import SignedHead
from ramphold.store import Store

_log = logging.getLogger(__name__)


class ReceiptKeeper:
    """The newest receipt of the one collector whose key this bench knows.

    The first receipt tells the collector's key, which is then kept outside the database. `save`
    runs in the store's thread, at most once a second; of the receipts between only the newest
    counts.

    Attributes:
        text: what is wrong with the receipts; empty if nothing is.
    """

    def __init__(self) -> None:
        self.text = ""
        self._newest: SignedHead | None = None
        self._saved = 0

    def take(self, receipt: SignedHead) -> None:
        """Take a receipt that has just come."""
        if self._newest is None or receipt.count > self._newest.count:
            self._newest = receipt

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

    def _save(self, store: Store, folder: KeyFolder, receipt: SignedHead) -> None:
        known = folder.collector()
        if receipt.word != "receipt" or not receipt.is_right:
            self._tell("a receipt's signature is wrong: it is not kept")
            return
        if known is None:
            folder.keep_collector(receipt.key)
        elif known != receipt.key:
            self._tell(
                f"receipts are signed by another collector, {fingerprint(receipt.key)[:16]}: if "
                f"that is right, remove {folder.path}/collector.pub"
            )
            return
        self._tell(store.heads.contradiction([receipt]) or "")
        self._saved = receipt.count
        before = store.heads.newest("receipt")
        if before is None or before.count < receipt.count:
            store.heads.keep(receipt)
            folder.keep(receipt)

    def _tell(self, text: str) -> None:
        if text and text != self.text:
            _log.warning("%s", text)
        self.text = text
