"""What of a run, and of the press without one, waits to be written goes to the store.

Where the store refuses a run, it goes on waiting in memory and in the second place.
"""

import asyncio
import contextlib
import logging
from collections.abc import Callable
from typing import Any

from ramphold import trust
from ramphold.clock import Clock
from ramphold.core import Event, NotRecorded, RecordedAgain
from ramphold.daemon._idle_press import IdlePress
from ramphold.daemon._live_run import LiveRun, Unwritten
from ramphold.daemon._run_starting import RunStarter
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.run_digest import committed, committed_in_file
from ramphold.daemon.tail_folder import TailFolder
from ramphold.errors import StoreDamaged, StoreError
from ramphold.store import Store
from ramphold.store.run_parts import begin_once
from ramphold.trust import TrustPart

# A commit a second is due; with one that pauses the screen says so before two have passed.
_LATE_S = 1.8
# A disk may pause for seconds, and what waits is in memory; after this long it is told as refused.
_HANGS_S = 5.0

_log = logging.getLogger(__name__)


class RunWriter:
    """Commits what waits of a run; built in the event loop, by whose time it is late.

    Args:
        store: where.
        tails: the second place.
        clock: dates the end of a run.
        announce: is given the events of a run that begins or ceases to be refused.

    Attributes:
        refused: why the newest attempt failed; empty where it did not.
        tail: where what waits is kept meanwhile; None where that is memory alone.
        kept_s: when the newest commit was, or the run began, by the event loop; None without a run.
    """

    def __init__(
        self,
        store: StoreThread,
        tails: TailFolder,
        clock: Clock,
        announce: Callable[[LiveRun, list[Event]], None],
    ) -> None:
        self._store, self._tails, self._clock = store, tails, clock
        self._announce = announce
        self._now_s = asyncio.get_running_loop().time
        self.refused = ""
        self.tail: str | None = None
        self.kept_s: float | None = None

    def begin(self) -> None:
        """Expect commits from now on."""
        self.kept_s = self._now_s()

    @property
    def why_not(self) -> str:
        """Why nothing is kept, or what waits of a run; empty while commits come in time."""
        late_s = self._late_s
        late = _hangs(late_s) if late_s > _LATE_S else ""
        return self.refused or late or self._store.refused

    def watch(self, run: LiveRun) -> bool:
        """Tell a disk that answers no more, or a file that was found damaged, as one that refuses.

        Returns:
            Whether that began now.
        """
        why = _hangs(self._late_s) if self._late_s > _HANGS_S else self._store.refused
        if self.refused or not why:
            return False
        self._refuse(run, why)
        return True

    def recording(self, starter: RunStarter) -> TrustPart:
        """Whether what is read is kept, with a run or without."""
        # Commits are made in real time, also where the bench's own is simulated and faster.
        age_s = None if self.kept_s is None else self._late_s
        return trust.recording(
            refused=self.why_not,
            tail=self.tail,
            age_s=age_s,
            runs_left=starter.runs_left,
            unkept=starter.unkept,
        )

    async def write(self, run: LiveRun) -> bool:
        """Commit all that waits; whether that was the last of a run that has ended.

        A failure is told by `refused`, and to a live run as a command.
        """
        part, ending = run.take_unwritten(), run.tracker.ended
        try:
            await self._commit(run, part)
        except StoreError as error:
            run.give_back(part)
            self._refuse(run, str(error))
            before = await self._committed(run) if isinstance(error, StoreDamaged) else None
            kept = await asyncio.to_thread(
                self._tails.keep, run, run.unwritten, self._clock.utc_ns(), before
            )
            self.tail = None if kept is None else str(kept)
            return False
        run.wrote(part)
        self.kept_s = None if ending else self._now_s()
        if self.refused:
            _log.warning("run %d is being written again", run.number)
            self.refused, self.tail = "", None
            self._tell(run, RecordedAgain())
            await asyncio.to_thread(self._tails.drop, run.number)
        return ending

    async def _commit(self, run: LiveRun, part: Unwritten) -> None:
        rows: dict[str, Any] = {
            "readings": part.readings,
            "commands": part.commands,
            "events": part.events,
        }
        assessment = run.tracker.assess() if run.tracker.ended else None
        utc_ns, stored, digest = self._clock.utc_ns(), run.stored, run.digest

        def commit(store: Store) -> None:
            if not stored:
                begin_once(store.runs, run.begun)
            if assessment is not None:
                if stored:
                    committed_in_file(store, run.number, digest)
                store.runs.end(run.number, assessment=assessment, utc_ns=utc_ns, **rows)
            else:
                store.runs.append(run.number, **rows)

        if assessment is not None or part or not stored:
            await self._store.run(commit)

    async def _committed(self, run: LiveRun) -> Unwritten | None:
        """All of a run that was committed, out of a damaged database; None where that fails.

        With it in the second place the run can go into a copy that knows nothing of it.
        """
        if not self._tails.lacks(run.number):
            return None
        number, digest = run.number, run.digest
        with contextlib.suppress(StoreError):
            return Unwritten(*await self._store.run(lambda store: committed(store, number, digest)))
        _log.error("run %d: what was committed of it can't be read any more", number)
        return None

    @property
    def _late_s(self) -> float:
        """How long ago the newest commit was."""
        return 0.0 if self.kept_s is None else self._now_s() - self.kept_s

    def _refuse(self, run: LiveRun, reason: str) -> None:
        if not self.refused:
            _log.error("run %d is not being written: %s", run.number, reason)
            self._tell(run, NotRecorded(reason=reason))
        self.refused = reason

    def _tell(self, run: LiveRun, command: NotRecorded | RecordedAgain) -> None:
        if not run.tracker.ended:
            self._announce(run, run.command(command, self._clock.now_ns()))


def _hangs(late_s: float) -> str:
    return (
        f"nothing has been written for {late_s:.0f} s; the disk hangs, or a program holds the file"
    )


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
