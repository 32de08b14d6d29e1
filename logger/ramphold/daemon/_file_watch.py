"""Looks whether the database's file is damaged, slowly and while no run is live.

SQLite does not read again what it has in memory, so a damaged page may go unnoticed for months, and
is in every copy by then. Where another program writes into the file a quick look follows at once,
also in a run: a specimen is worth more than a pause of the disk.
"""

import asyncio
import logging
from collections.abc import Callable, Generator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.errors import StoreDamaged, StoreError
from ramphold.store.file_damage import quick_look, whole_look

Look = Callable[[Path], Generator[None]]

_EVERY_S = 900.0
_POLL_S = 0.5
# A step takes a few ms; so many times as long is waited after it.
_SHARE = 20
_LEAST_PAUSE_S = 0.01

_END = object()

_log = logging.getLogger(__name__)


class FileWatch:
    """Looks at the file until damage is found, which does not go away.

    Args:
        press: says whether a run is live.
        store: writes nothing more once damage is found.
    """

    def __init__(self, press: PressService, store: StoreThread) -> None:
        self._press, self._store = press, store

    async def run(self) -> None:
        """Look quickly after each run, and at everything whenever there is time."""
        async with asyncio.TaskGroup() as group:
            group.create_task(self._watch(quick_look, quick=True))
            group.create_task(self._watch(whole_look, quick=False))

    async def _watch(self, look: Look, *, quick: bool) -> None:
        """Look for ever. A quick look follows each run, and a write by another program at once."""
        touches, time = self._store.touches, asyncio.get_running_loop().time
        while True:
            in_run = quick and touches != self._store.touches
            # What can't be looked at waits as long as what was looked at.
            touches, done = self._store.touches, True
            try:
                done = await self._walk(look(self._store.path), quick=quick, in_run=in_run)
            except StoreDamaged as damage:
                await self._store.freeze(damage)
                return
            except StoreError as error:
                _log.error("the database's file can't be looked at: %s", error)
            due_s, ran = time() + _EVERY_S, not done
            while self._store.refused or (time() < due_s and touches == self._store.touches):
                await asyncio.sleep(_POLL_S)
                ran |= self._press.unfinished is not None
                if quick and ran and self._press.unfinished is None:
                    break

    async def _walk(self, steps: Generator[None], *, quick: bool, in_run: bool) -> bool:
        """Go through a look; whether to its end. A run cuts a quick one off, or is waited for."""
        loop = asyncio.get_running_loop()
        # A look's connection belongs to one thread.
        pool = ThreadPoolExecutor(1, thread_name_prefix="file-watch")
        try:
            # A file that takes nothing may be open to one program alone.
            while not self._store.refused:
                while not in_run and self._press.unfinished is not None:
                    if quick:
                        return False
                    await self._press.written()
                began_s = loop.time()
                if await loop.run_in_executor(pool, next, steps, _END) is _END:
                    return True
                took_s = loop.time() - began_s
                await asyncio.sleep(max(_LEAST_PAUSE_S, _SHARE * took_s))
            return False
        finally:
            pool.submit(steps.close)
            pool.shutdown()
