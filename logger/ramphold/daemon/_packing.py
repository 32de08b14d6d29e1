"""Packs finished traces while no run is live, one at a time so that nothing waits long."""

import asyncio
import logging

from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.press import PressService
from ramphold.errors import StoreError

_EVERY_S = 5.0

_log = logging.getLogger(__name__)


async def pack_for_ever(press: PressService, store: StoreThread) -> None:
    """Pack the traces of ended runs every few seconds."""
    while True:
        await asyncio.sleep(_EVERY_S)
        await pack_one(press, store)


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
