"""The one thread that uses the archive. It opens it when needed, and again after an error."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from ramphold.collector.archive import Archive, open_archive
from ramphold.errors import StoreError

T = TypeVar("T")


class ArchiveThread:
    """An archive that does its work in the order given.

    Args:
        url: a file, or a PostgreSQL URL.
    """

    def __init__(self, url: str) -> None:
        self._url = url
        self._archive: Archive | None = None
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="archive")

    async def run(self, work: Callable[[Archive], T]) -> T:
        """Call `work` with the archive; its result.

        Raises:
            StoreError: the archive cannot be opened or used; the next call opens it again.
        """
        return await asyncio.get_running_loop().run_in_executor(self._pool, self._done, work)

    async def aclose(self) -> None:
        """Close the archive and end the thread after the work already given."""
        await asyncio.get_running_loop().run_in_executor(self._pool, self._close)
        self._pool.shutdown()

    def _done(self, work: Callable[[Archive], T]) -> T:
        if self._archive is None:
            self._archive = open_archive(self._url)
        try:
            return work(self._archive)
        except StoreError:
            # After a restart the server no longer knows the connection.
            self._close()
            raise

    def _close(self) -> None:
        if self._archive is not None:
            self._archive.close()
            self._archive = None
