"""The one place where readings meet the run: followed, told at once, written, then announced.

The load is told at once, whatever the disk does. What claims to be recorded, above all the end of
a run, is told after its commit.
"""

import asyncio
import contextlib
import logging
from collections.abc import Callable
from pathlib import Path

from msgspec.structs import replace

from ramphold.clock import Clock
from ramphold.control.act import NoParams
from ramphold.control.handlers import Handlers
from ramphold.control.run_methods import (
    ACKNOWLEDGE,
    CHOOSE_STYLE,
    END_RUN,
    ON_SNAPSHOT,
    SNAPSHOT,
    START_RUN,
    AcknowledgeParams,
    ChooseStyleParams,
    EndRunParams,
    Live,
    RunEnded,
    RunStarted,
    RunVerdict,
    StartRunParams,
)
from ramphold.control.run_queries import TRACE, LoadCurve, TraceParams
from ramphold.core import (
    Acknowledge,
    Calibration,
    ChooseStyle,
    EndRun,
    Event,
    PacingStart,
    Rating,
    Reading,
    Snapshot,
    TakeUp,
)
from ramphold.daemon._event_telling import EventTeller, Tell
from ramphold.daemon._idle_press import IdlePress
from ramphold.daemon._live_run import LiveRun, Unwritten
from ramphold.daemon._run_starting import PacingOf, RunStarter
from ramphold.daemon._run_trace import run_trace
from ramphold.daemon._run_writing import RunWriter, write_warnings
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon._verdict import decided
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.tail_folder import TailFolder
from ramphold.errors import CommandRefused
from ramphold.method import cell
from ramphold.sample import Record
from ramphold.trust import TrustPart

_COMMIT_EVERY_S = 1.0
_PATIENCE_S = 3.0
_NO_ANSWER = "the disk does not answer"

_log = logging.getLogger(__name__)


class PressService:
    """Follows the load, and the live run if there is one."""

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        config: BenchConfig,
        store: StoreThread,
        clock: Clock,
        tell: Tell,
        *,
        calibration: Callable[[], Calibration | None] = lambda: None,
        pacing: PacingOf = lambda *_: PacingStart(),
        tails: TailFolder | None = None,
        trust: Callable[[], tuple[TrustPart, ...]] = lambda: (),
    ) -> None:
        self._store, self._clock, self._tell = store, clock, tell
        tails = tails or TailFolder(None, Path(config.store.path))
        self.writer = RunWriter(store, tails, clock, self._announce)
        name, rating_lbf = config.weakest
        area_in2 = cell.area_in2(config.cell.bore)
        self._rating = Rating(rating_lbf=rating_lbf, rating_name=name, area_in2=area_in2)
        self.starter = RunStarter(
            config, self._rating, store, clock, calibration, pacing, trust, tails
        )
        self._contact_lbf = config.rules.contact_psi * area_in2
        self._idle = IdlePress(self._rating, clock)
        self._newest: Reading | None = None
        self._run: LiveRun | None = None
        self._events = EventTeller(tell)
        self.taken_up: int | None = None
        self._shown: Snapshot | None = None
        self._verdict: RunVerdict | None = None
        self._busy = asyncio.Lock()  # one start, end or write at a time
        self._hurry = asyncio.Event()
        self._ended = asyncio.Event()
        self.readings_seen = 0
        self.read_one = asyncio.Event()

    # --- readings and time -------------------------------------------------------------------

    def take_reading(self, reading: Reading) -> None:
        """Take one reading of the load."""
        self._newest = reading
        if run := self.live:
            self._announce(run, run.feed(reading))
        else:
            self._idle.feed(reading)
            if self._run:
                # Its load and warnings are still shown, but no longer recorded with the run.
                self._run.tracker.feed(reading)
        self._tell_snapshot()
        self.readings_seen += 1
        self.read_one.set()

    def pass_time(self, now_ns: int) -> None:
        """Advance to `now_ns`; missing readings are told even while none come."""
        if (run := self.live) and (events := run.pass_time(now_ns)):
            self._announce(run, events)
            self._tell_snapshot()
        if self._run and self.writer.watch(self._run):
            self._tell_snapshot()

    @property
    def live(self) -> LiveRun | None:
        """The live run."""
        run = self._run
        return run if run and not run.tracker.ended else None

    @property
    def live_run(self) -> int | None:
        """Number of the live run."""
        return run.number if (run := self.live) else None

    def take_records(self, added: list[Record]) -> None:
        """Tell what people decided of the run that is shown."""
        if self._run is not None:
            self._verdict = decided(self._verdict, self._run.begun.specimen, added)
            self._tell_snapshot()

    @property
    def unfinished(self) -> int | None:
        """Number of the run that is live, or over and not written yet."""
        return self._run.number if self._run and not self._ended.is_set() else None

    @property
    def ending(self) -> str:
        """Why a run that is over is not written yet; empty without one."""
        run = self._run
        if run is None or not run.tracker.ended or self._ended.is_set():
            return ""
        why = self.writer.refused or _NO_ANSWER
        return f"run {run.number} has ended and is not written yet, it is tried on: {why}"

    # --- methods -----------------------------------------------------------------------------

    def answer(self, handlers: Handlers) -> None:
        """Answer the methods about the run."""

        async def snapshot(_: NoParams) -> Live:
            return self.snapshot()

        handlers.on(SNAPSHOT, snapshot)
        handlers.on(START_RUN, self.start)
        handlers.on(END_RUN, self.end)
        handlers.on(ACKNOWLEDGE, self.acknowledge)
        handlers.on(CHOOSE_STYLE, self.choose_style)
        handlers.on(TRACE, self.trace)

    def snapshot(self) -> Live:
        """The load now and the live run."""
        newest = self._newest
        return Live(
            t_ns=self._clock.now_ns(),
            reading_t_ns=newest.t_ns if newest else None,
            force_lbf=newest.force_lbf if newest and newest.usable else None,
            quality=newest.quality if newest else None,
            run=self.live_run,
            snapshot=self._run_snapshot(),
            rating_lbf=self._rating.rating_lbf,
            rating_name=self._rating.rating_name,
            idle_warnings=self._idle.standing,
            contact_lbf=self._contact_lbf,
            unwritten=self.writer.why_not,
            verdict=self._verdict,
            unkept=self.starter.unkept,
        )

    async def start(self, params: StartRunParams) -> RunStarted:
        """Follow the crush of a specimen from now on.

        Raises:
            CommandRefused: a run is live, there is no such specimen, or the run could not be kept.
            PlanError: the plan must not be run.
        """
        async with self._busy:
            # Another start may have come first.
            START_RUN.check_run(self.live_run)
            if self.ending:
                raise CommandRefused(self.ending)
            run = await self.starter.start(params)
            self._follow(run)
        self._tell_snapshot()
        return RunStarted(run=run.number, plan=run.begun.plan)

    def take_up(self, run: LiveRun) -> None:
        """Follow a run on that a dead daemon left live."""
        self._follow(run)
        self.taken_up = run.number
        self._announce(run, run.command(TakeUp(), self._clock.now_ns()))

    async def end(self, params: EndRunParams) -> RunEnded:
        """End the record of the live run; it is written, or the answer says why it is not yet."""
        run = self._followed()
        reason = f"{params.reason} ({params.operator})"
        self._announce(run, run.command(EndRun(reason=reason), self._clock.now_ns()))
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(_PATIENCE_S):
                await self.write()
        self._tell_snapshot()  # whether or not a reading comes
        unwritten = "" if self._ended.is_set() else self.writer.refused or _NO_ANSWER
        return RunEnded(
            run=run.number,
            state=run.tracker.state,
            assessment=run.tracker.assess(),
            unwritten=unwritten,
        )

    async def acknowledge(self, params: AcknowledgeParams) -> Live:
        """Acknowledge the latched warnings, also those of a press without a run.

        Raises:
            CommandRefused: there has been no run, and no warning stands.
        """
        t_ns = self._clock.now_ns()
        idle = self._idle.standing
        self._idle.acknowledge(t_ns, params.operator)
        if run := self.live:
            self._announce(run, run.command(Acknowledge(), t_ns))
        elif self._run:
            self._run.tracker.command(Acknowledge(), t_ns)
        elif not idle:
            raise CommandRefused("no warning stands: there is nothing to acknowledge")
        _log.info("%s acknowledged the warnings", params.operator)
        self._tell_snapshot()
        return self.snapshot()

    async def choose_style(self, params: ChooseStyleParams) -> Live:
        """Pace the live run in this style from now on."""
        run = self._followed()
        self._announce(run, run.command(ChooseStyle(style=params.style), self._clock.now_ns()))
        self._tell_snapshot()
        return self.snapshot()

    async def trace(self, params: TraceParams) -> LoadCurve:
        """The load of any run as points, up to the newest reading.

        Raises:
            InputError: there is no such run.
        """
        async with self._busy:  # a part that is being written would be in neither place
            run = self._run
            part = run.unwritten if run and run.number == params.run else Unwritten()
            return await self._store.run(
                lambda store: run_trace(
                    store.runs.one(params.run),
                    store.runs.trace(params.run).followed_by(part.readings),
                    store.runs.events(params.run) + part.events,
                    params.most,
                )
            )

    # --- writing -----------------------------------------------------------------------------

    async def write_for_ever(self) -> None:
        """Commit once a second, and at once when a run has ended."""
        while True:
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(_COMMIT_EVERY_S):
                    await self._hurry.wait()
            self._hurry.clear()
            await self.write()

    async def written(self) -> None:
        """Wait until the run that has ended is written."""
        await self._ended.wait()

    async def write(self) -> None:
        """Commit what waits; where that fails it goes on waiting, and the run goes on.

        A cancelled caller does not stop a write that has begun.
        """
        await asyncio.shield(asyncio.create_task(self._write()))

    async def _write(self) -> None:
        await write_warnings(self._store, self._idle)
        async with self._busy:
            run = self._run
            if run is None or self._ended.is_set():
                return
            refused = self.writer.refused
            ended = await self.writer.write(run)
        if ended:
            found = run.tracker.assess()
            self._verdict = RunVerdict(run=run.number, verdict=found.verdict, worst=found.worst)
            self._ended.set()
            self._events.tell(run.number)
        if ended or refused != self.writer.refused:
            self._tell_snapshot()

    # --- inside ------------------------------------------------------------------------------

    def _follow(self, run: LiveRun) -> None:
        self._ended.clear()
        self._events.begin(run.written.events)
        self._verdict, self._run = None, run
        self.writer.begin()

    def _followed(self) -> LiveRun:
        """The live run, of a method that was declared to need one."""
        if (run := self.live) is None:
            raise CommandRefused("no run is live")
        return run

    def _announce(self, run: LiveRun, events: list[Event]) -> None:
        self._events.keep(events)
        if run.tracker.ended:
            self._hurry.set()  # its last events are told once they are written
        else:
            self._events.tell(run.number)

    def _tell_snapshot(self) -> None:
        self._tell(ON_SNAPSHOT, self.snapshot())

    def _run_snapshot(self) -> Snapshot | None:
        """The run as of now; its end shows only once it is written."""
        run = self._run
        if run and (not run.tracker.ended or self._ended.is_set()):
            self._shown = run.tracker.snapshot()
        elif run and self._shown:
            # What is pumped meanwhile is not what the run left.
            self._shown = replace(self._shown, rest_lbf=run.tracker.snapshot().rest_lbf)
        return self._shown
