"""Tidies the database while no run is live, in small steps so that nothing waits long.

Traces of ended runs are packed, and the write-ahead log is written into the file: whoever copies
the file alone, as people do, then has all records.
"""

import asyncio
import logging

from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.errors import StoreError

_EVERY_S = 5.0

_log = logging.getLogger(__name__)


async def pack_for_ever(press: PressService, store: StoreThread) -> None:
    """Pack the traces of ended runs every few seconds, and write the log out."""
    while True:
        await asyncio.sleep(_EVERY_S)
        await pack_one(press, store)
        await write_out(press, store)


async def pack_one(press: PressService, store: StoreThread) -> None:
    """Pack the oldest trace that is not packed, unless a run is live."""
    if press.live is not None:
        return
    try:
        packed = await store.run(lambda held: held.runs.pack())
    except StoreError as error:
        _log.error("the trace of an ended run was not packed: %s", error)
        return
    for run in packed:
        _log.info("the trace of run %d is packed", run)


async def write_out(press: PressService, store: StoreThread) -> None:
    """Write the log into the database's file, unless a run is live."""
    if press.live is not None:
        return
    try:
        await store.run(lambda held: held.write_out())
    except StoreError as error:
        _log.error("the log was not written into the database's file: %s", error)
