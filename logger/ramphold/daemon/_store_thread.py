"""The one thread that touches the database; the event loop never waits for the disk."""

import asyncio
import contextlib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Self, TypeVar

from ramphold.errors import StoreError
from ramphold.sample import Record
from ramphold.store import Store

T = TypeVar("T")


class StoreThread:
    """A store in a thread of its own, which does its work in the order it is given.

    Args:
        pool: that thread.
        store: the store, opened there.
        newest: number of its newest record.
        on_records: called in the event loop with the records that a piece of work added.
    """

    def __init__(
        self,
        pool: ThreadPoolExecutor,
        store: Store,
        newest: int,
        on_records: Callable[[list[Record]], None],
    ) -> None:
        self._pool = pool
        self._store = store
        self._newest = newest
        self._on_records = on_records

    @classmethod
    async def open(
        cls, path: Path, on_records: Callable[[list[Record]], None] = lambda _: None
    ) -> Self:
        """Open the database at `path`; a run that a dead daemon left live becomes interrupted.

        Raises:
            StoreError: it can't be opened.
        """

        def opened() -> tuple[Store, int]:
            store = Store.open(path)
            return store, store.records.newest()

        pool = ThreadPoolExecutor(1, thread_name_prefix="store")
        try:
            loop = asyncio.get_running_loop()
            return cls(pool, *await loop.run_in_executor(pool, opened), on_records)
        except BaseException:
            pool.shutdown()
            raise

    @property
    def interrupted(self) -> tuple[int, ...]:
        """Numbers of the runs that a dead daemon had left live."""
        return self._store.interrupted

    async def run(self, work: Callable[[Store], T]) -> T:
        """Call `work` with the store and return its result; new records are announced first."""
        loop = asyncio.get_running_loop()

        def done() -> T:
            try:
                return work(self._store)
            finally:
                self._tell_added(loop)

        return await loop.run_in_executor(self._pool, done)

    async def aclose(self) -> None:
        """Close the database and end the thread, after the work already given."""
        await asyncio.get_running_loop().run_in_executor(self._pool, self._store.close)
        self._pool.shutdown()

    def _tell_added(self, loop: asyncio.AbstractEventLoop) -> None:
        """Announce, in the event loop, the records committed since the last announcement."""
        with contextlib.suppress(StoreError):  # announced after the next piece of work
            newest = self._store.records.newest()
            if newest > self._newest:
                added = self._store.records.after(self._newest)
                self._newest = newest
                loop.call_soon_threadsafe(self._on_records, added)
