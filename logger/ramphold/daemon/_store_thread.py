"""The one thread that touches the database; the event loop never waits for the disk."""

import asyncio
import contextlib
import logging
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Self, TypeVar

from ramphold.errors import StoreDamaged, StoreError, StoreUnwritable
from ramphold.sample import ClockStamp, Record
from ramphold.store import Store

T = TypeVar("T")

_AGAIN_S = 1.0

_log = logging.getLogger(__name__)


def interrupt_live(store: Store) -> tuple[int, ...]:
    """End the run that a dead daemon left live."""
    return store.runs.interrupt_live()


class StoreThread:
    """A store in a thread of its own, which does its work in the order it is given.

    A database that takes nothing, such as on a full disk, is opened to be read if it can be, and
    opened for good once it takes something again. One that is damaged takes nothing more until the
    daemon is restarted.

    Args:
        path: the file.
        on_records: called in the event loop with the records that a piece of work added.
        recover: sees to the run that a dead daemon left live; numbers of those it interrupted.
        stamp: gives the time of the boot, which every record is written with.

    Attributes:
        refused: why nothing can be written at all; empty while the database is open.
        interrupted: numbers of the runs that a dead daemon had left live.
        touches: how often another program was seen to have written into the file.
    """

    def __init__(
        self,
        path: Path,
        on_records: Callable[[list[Record]], None],
        recover: Callable[[Store], tuple[int, ...]],
        stamp: Callable[[], ClockStamp | None] = lambda: None,
    ) -> None:
        self.refused = ""
        self.interrupted: tuple[int, ...] = ()
        self.touches = 0
        self._damaged = False
        self._path, self._on_records, self._recover = path, on_records, recover
        self._stamp = stamp
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="store")
        self._store: Store | None = None
        self._newest = 0

    @classmethod
    async def open(
        cls,
        path: Path,
        on_records: Callable[[list[Record]], None] = lambda _: None,
        recover: Callable[[Store], tuple[int, ...]] = interrupt_live,
        stamp: Callable[[], ClockStamp | None] = lambda: None,
    ) -> Self:
        """Open the database at `path`; one that takes nothing now is opened later.

        Raises:
            StoreError: it can't be opened, and waiting would not help.
        """
        made = cls(path, on_records, recover, stamp)
        try:
            await asyncio.get_running_loop().run_in_executor(made._pool, made._open)
        except BaseException:
            made._pool.shutdown()
            raise
        return made

    @property
    def path(self) -> Path:
        """The database's file."""
        return self._path

    async def open_later(self, opened: Callable[[], Awaitable[None]]) -> None:
        """Try a database that took nothing once a second until it is open; then call `opened`."""
        while self.refused:
            await asyncio.sleep(_AGAIN_S)
            try:
                await asyncio.get_running_loop().run_in_executor(self._pool, self._open)
            except StoreError as error:
                self.refused = str(error)
            if not self.refused:
                _log.warning("%s takes records again", self._path)
                await opened()

    async def run(self, work: Callable[[Store], T]) -> T:
        """Call `work` with the store and return its result; new records are announced first.

        Raises:
            StoreDamaged: its file is damaged.
            StoreUnwritable: the database takes nothing now, or can't be read at all.
        """
        loop = asyncio.get_running_loop()

        def done() -> T:
            if self._store is None:
                raise StoreUnwritable(self.refused)
            try:
                return work(self._store)
            except StoreDamaged as error:
                self._freeze(error)
                raise
            except StoreError as error:
                if self.refused:  # it is open to be read only
                    kind = StoreDamaged if self._damaged else StoreUnwritable
                    raise kind(self.refused) from error
                raise
            finally:
                self._tell_added(self._store, loop)
                self._count_touches(self._store)

        return await loop.run_in_executor(self._pool, done)

    async def freeze(self, damage: StoreDamaged) -> None:
        """Write nothing more into a file that was found damaged."""
        await asyncio.get_running_loop().run_in_executor(self._pool, self._freeze, damage)

    async def aclose(self) -> None:
        """Close the database and end the thread, after the work already given."""
        await asyncio.get_running_loop().run_in_executor(self._pool, self._close)
        self._pool.shutdown()

    # --- inside, in the thread -------------------------------------------------------------------

    def _open(self) -> None:
        """Open it for good, or else to be read."""
        self._close()
        try:
            self._store = Store.open(self._path, self._stamped)
        except StoreUnwritable as error:
            if not self.refused:
                _log.error("nothing can be recorded: %s", error)
            self.refused = str(error)
            with contextlib.suppress(StoreError):
                self._store = Store.open_unwritable(self._path)
        else:
            self.refused = ""
            self.interrupted = self._store.interrupted
            self._newest = self._store.records.newest()

    def _stamped(self, store: Store) -> tuple[int, ...]:
        store.records.stamp = self._stamp
        return self._recover(store)

    def _freeze(self, damage: StoreDamaged) -> None:
        if self._store is not None and not self._damaged:
            _log.error("nothing more is written: %s", damage)
            self.refused, self._damaged = str(damage), True
            with contextlib.suppress(StoreError):
                self._store.freeze()

    def _close(self) -> None:
        if self._store is not None:
            self._store.close()
            self._store = None

    def _tell_added(self, store: Store, loop: asyncio.AbstractEventLoop) -> None:
        """Announce, in the event loop, the records committed since the last announcement."""
        with contextlib.suppress(StoreError):  # announced after the next piece of work
            newest = store.records.newest()
            if newest > self._newest:
                added = store.records.after(self._newest)
                self._newest = newest
                loop.call_soon_threadsafe(self._on_records, added)

    def _count_touches(self, store: Store) -> None:
        if store.touched:
            _log.warning("%s: another program has written into it", self._path)
            store.touched = False
            self.touches += 1
