"""The one thread that touches the database; the event loop never waits for the disk."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Self, TypeVar

from ramphold.store import Store

__all__ = ["StoreThread"]

T = TypeVar("T")


class StoreThread:
    """A store that lives in a thread of its own and takes work in the order it is given."""

    def __init__(self, pool: ThreadPoolExecutor, store: Store) -> None:
        self._pool = pool
        self._store = store

    @classmethod
    async def open(cls, path: Path) -> Self:
        """Open the database at `path`; a run that a dead daemon left live is interrupted.

        Raises:
            StoreError: it can't be opened.
        """
        pool = ThreadPoolExecutor(1, thread_name_prefix="store")
        try:
            loop = asyncio.get_running_loop()
            return cls(pool, await loop.run_in_executor(pool, Store.open, path))
        except BaseException:
            pool.shutdown()
            raise

    @property
    def interrupted(self) -> tuple[int, ...]:
        """Numbers of the runs that a dead daemon had left live."""
        return self._store.interrupted

    async def run(self, work: Callable[[Store], T]) -> T:
        """What `work` returns when called with the store."""
        return await asyncio.get_running_loop().run_in_executor(self._pool, work, self._store)

    async def aclose(self) -> None:
        """Close the database and end the thread, after the work already given."""
        await self.run(Store.close)
        self._pool.shutdown()
