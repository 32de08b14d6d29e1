"""Signs the records with the bench's key, at most once a second. The press never waits for it."""

import asyncio
import logging
from pathlib import Path
from typing import NoReturn

from ramphold.clock import Clock
from ramphold.control.handlers import Handlers
from ramphold.control.key_methods import RENEW_KEY, RenewKeyParams
from ramphold.daemon._key_renewal import check_own, renew, settle_key
from ramphold.daemon._store_thread import StoreThread
from ramphold.errors import KeyFileError, StoreError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.signed_head import SignedHead
from ramphold.sample import KeyChanged
from ramphold.store import Store

_EVERY_S = 1.0
# What could not be signed is tried again, also if nothing more is recorded.
_AGAIN_S = 10.0

_log = logging.getLogger(__name__)


class SigningService:
    """Signs what was recorded; where it cannot, it says why, and everything else goes on.

    Args:
        store: where the records are.
        database: the file, beside which the keys are.
        clock: dates the heads.

    Attributes:
        key: the bench's key; None while nothing is signed.
        text: why nothing is signed now; empty while it is.
    """

    def __init__(self, store: StoreThread, database: Path, clock: Clock) -> None:
        self.key: SigningKey | None = None
        self.text = ""
        self._store, self._clock = store, clock
        self._folder = KeyFolder.beside(database)
        self._woken = asyncio.Event()
        self._keeping = asyncio.Lock()
        self._unkept: SignedHead | None = None

    async def start(self) -> None:
        """Open the key, make it at the first start, and sign what a dead daemon left unsigned."""
        try:
            self.key = await self._store.run(self._open)
        except (KeyFileError, StoreError) as error:
            self._tell(f"records are not signed until a restart: {error}")
        await self.sign()

    def wake(self) -> None:
        """Sign within a second: something was recorded."""
        self._woken.set()

    async def run(self) -> NoReturn:
        """Sign for ever."""
        while True:
            await self._woken.wait()
            self._woken.clear()
            await self.sign()
            failed = self.key is not None and self.text
            if failed:
                self._woken.set()
            await asyncio.sleep(_AGAIN_S if failed else _EVERY_S)

    async def sign(self) -> None:
        """Sign what is not signed yet."""
        if self.key is None:
            return
        try:
            async with self._keeping:
                await self._keep(await self._store.run(self._sign))
        except (KeyFileError, StoreError) as error:
            self._tell(f"records are not signed: {error}")
        else:
            self.text = ""

    def answer(self, handlers: Handlers) -> None:
        """Answer the method that renews the key."""
        handlers.on(RENEW_KEY, self._renew)

    async def _renew(self, params: RenewKeyParams) -> KeyChanged:
        def work(store: Store) -> tuple[KeyChanged, SignedHead | None]:
            now_ns = self._clock.utc_ns()
            try:
                self.key, record, head = renew(store, self._folder, self.key, params, now_ns)
            except (KeyFileError, StoreError) as error:
                # Which key is the bench's now, its next start finds out.
                self.key, self.text = None, f"records are not signed until a restart: {error}"
                raise
            return record, head

        async with self._keeping:
            record, head = await self._store.run(work)
            self.text = ""
            await self._keep(head)
        return record

    async def _keep(self, head: SignedHead | None) -> None:
        self._unkept = head or self._unkept
        if self._unkept is not None:
            await asyncio.to_thread(self._folder.keep, self._unkept)
            self._unkept = None

    def _tell(self, text: str) -> None:
        if self.text != text:
            self.text = text
            _log.warning("%s", text)

    # --- inside, in the store's thread -----------------------------------------------------------

    def _sign(self, store: Store) -> SignedHead | None:
        return None if self.key is None else store.heads.sign(self.key, self._clock.utc_ns())

    def _open(self, store: Store) -> SigningKey:
        settle_key(store, self._folder)
        kept = [self._folder.newest("head"), self._folder.newest("receipt"), store.heads.newest()]
        signed = [head for head in kept if head is not None]
        key, now_ns = self._folder.open(), self._clock.utc_ns()
        if key is None:
            if signed:
                raise KeyFileError(
                    f"the bench's key is missing: put {self._folder.path} back from its backup, or "
                    "give it up (`ramphold key renew --lost`); nothing is signed until then"
                )
            return self._folder.make(now_ns)
        self._check(store, key, signed)
        if now_ns < max(self._folder.made_utc_ns(), *(head.utc_ns for head in signed), 0):
            _log.warning("the clock is before the key's date or the newest head's: set it")
        return key

    def _check(self, store: Store, key: SigningKey, signed: list[SignedHead]) -> None:
        """Check that the key signs on from where it stopped."""
        check_own(store, self._folder, key, signed)
        if (wrong := store.heads.contradiction(signed)) is not None:
            raise KeyFileError(
                f"{wrong}: see `ramphold check --records`. After a database was restored from a "
                f"copy, move {self._folder.path}/head and receipt away"
            )
