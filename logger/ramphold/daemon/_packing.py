"""Finished traces are packed while nobody crushes, one at a time, so that nothing waits long."""

import asyncio
import logging

from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.errors import StoreError

__all__ = ["pack_for_ever"]

_EVERY_S = 5.0

_log = logging.getLogger(__name__)


async def pack_for_ever(press: PressService, store: StoreThread) -> None:
    """Pack the trace of each run that has ended, when no run is live."""
    while True:
        await asyncio.sleep(_EVERY_S)
        if press.live is not None:
            continue
        try:
            packed = await store.run(lambda held: held.pack_runs())
        except StoreError as error:
            _log.error("a finished run's trace was not packed: %s", error)
            continue
        for run in packed:
            _log.info("run %d: its trace is packed", run)
