"""What of a run, and of the press without one, waits to be written goes to the store."""

import logging
from typing import Any

from ramphold.daemon._idle_press import IdlePress
from ramphold.daemon._live_run import LiveRun, Unwritten
from ramphold.daemon._store_thread import StoreThread
from ramphold.errors import StoreError

_log = logging.getLogger(__name__)


async def write_part(store: StoreThread, run: LiveRun, part: Unwritten, utc_ns: int) -> None:
    """Write a part of a run; the last one with its assessment, at a time in ns UTC.

    Raises:
        StoreError: nothing of it was written.
    """
    rows: dict[str, Any] = {
        "readings": part.readings,
        "commands": part.commands,
        "events": part.events,
    }
    if run.tracker.ended:
        assessment = run.tracker.assess()
        await store.run(
            lambda opened: opened.runs.end(run.number, assessment=assessment, utc_ns=utc_ns, **rows)
        )
    elif any(rows.values()):
        await store.run(lambda opened: opened.runs.append(run.number, **rows))


async def write_warnings(store: StoreThread, press: IdlePress) -> None:
    """Record the warnings of a press without a run; where that fails they go on waiting."""
    unwritten = press.take_unwritten()
    while unwritten:
        one = unwritten[0]
        try:
            await store.run(lambda opened: opened.records.append(one))  # noqa: B023 - awaited
        except StoreError as error:
            _log.error("a warning of the press is not being recorded: %s", error)
            press.give_back(unwritten)
            return
        del unwritten[0]
