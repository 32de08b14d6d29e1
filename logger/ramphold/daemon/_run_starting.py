"""The start of a run: planned from specimen and bench, refused where it could not be kept."""

import asyncio
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from ramphold.clock import Clock
from ramphold.control.run_methods import StartRunParams
from ramphold.core import Calibration, PacingStart, Rating
from ramphold.daemon._live_run import LiveRun
from ramphold.daemon._run_plan import plan_run
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.disk_space import run_bytes, runs_left
from ramphold.daemon.tail_folder import TailFolder
from ramphold.errors import CommandRefused, StoreUnwritable
from ramphold.sample import SpecimenAdded
from ramphold.store import Store
from ramphold.store.free_space import free_bytes
from ramphold.store.run_parts import begin_once
from ramphold.trust import TrustPart
from ramphold.wire.run_part import RunBegun

# Another program may hold the file for a moment; after so many looks, a second apart, it is told.
_PASSING_LOOKS = 3

#: What a run starts from, by what is stored, the operator and the press.
PacingOf = Callable[[Store, str, str], PacingStart]


class RunStarter:
    """Starts runs.

    Args:
        config: the bench.
        rating: the greatest load that its press may bear.
        store: where a run is kept.
        clock: dates it.
        calibration: gives the calibration of the load in force.
        pacing: what the pacing starts from.
        trust: gives how far each part of the bench can be trusted.
        tails: the runs that the database may not know yet; their numbers are taken.

    Attributes:
        runs_left: how many runs the disk had room for when it was looked at; None if that can't
            be told.
    """

    def __init__(  # noqa: PLR0913, PLR0917 - each is a fact of its own
        self,
        config: BenchConfig,
        rating: Rating,
        store: StoreThread,
        clock: Clock,
        calibration: Callable[[], Calibration | None],
        pacing: PacingOf,
        trust: Callable[[], tuple[TrustPart, ...]],
        tails: TailFolder,
    ) -> None:
        self._config, self._rating = config, rating
        self._store, self._clock = store, clock
        self._calibration, self._pacing, self._trust = calibration, pacing, trust
        self._tails = tails
        self._path = Path(config.store.path)
        self.runs_left: int | None = None
        self._locked_looks = 0
        self._locked = ""

    async def start(self, params: StartRunParams) -> LiveRun:
        """Begin a run and keep its start.

        Raises:
            CommandRefused: there is no such specimen, or the run could not be kept and nobody
                insists.
            PlanError: the plan must not be run.
        """
        specimen, pacing = await self._store.run(partial(self._asked, params=params))
        plan = plan_run(
            params,
            specimen,
            self._config,
            self._rating,
            calibration=self._calibration(),
            pacing=pacing,
            trust=self._trust(),
            boot=self._clock.state().boot,
        )
        await asyncio.to_thread(self.look)
        await self.try_to_write()
        if (doubt := self.unkept) and not params.anyway:
            raise _unkept(doubt)
        newest = await self._store.run(lambda store: max(store.runs.newest(), self._tails.newest()))
        begun = RunBegun(
            run=newest + 1,
            specimen=specimen.specimen,
            operator=params.operator,
            plan=replace(plan, anyway=plan.anyway if doubt else ""),
            t_ns=self._clock.now_ns(),
            utc_ns=self._clock.utc_ns(),
        )
        try:
            await self._store.run(lambda store: begin_once(store.runs, begun))
        except StoreUnwritable as error:
            if not params.anyway:
                raise _unkept(str(error)) from error
            return LiveRun(replace(begun, plan=plan), stored=False)
        return LiveRun(begun)

    def _asked(self, store: Store, params: StartRunParams) -> tuple[SpecimenAdded, PacingStart]:
        """The specimen, and what the pacing starts from."""
        specimen = store.specimens.one(params.specimen)
        return specimen, self._pacing(store, params.operator, specimen.press)

    @property
    def unkept(self) -> str:
        """Why a run that is started now might not be kept; empty if it would be."""
        held = self._locked if self._locked_looks >= _PASSING_LOOKS else ""
        if self._store.refused or held or self.runs_left != 0:
            return self._store.refused or held
        return f"{self._path}: has no room for a run: the disk is full, free some space"

    async def try_to_write(self) -> None:
        """Look whether the database takes a commit; what passes soon is no trouble."""
        if self._store.refused:
            self._locked_looks = 0
            return
        try:
            await self._store.run(lambda store: store.try_to_write())
        except StoreUnwritable as error:
            self._locked_looks, self._locked = self._locked_looks + 1, str(error)
        else:
            self._locked_looks = 0

    def look(self) -> None:
        """Look at the space on the disk."""
        free = free_bytes(self._path)
        one_run = run_bytes(float(self._config.cell.rating), self._config.load.readings_per_s)
        self.runs_left = None if free is None else runs_left(free, one_run)


def _unkept(why: str) -> CommandRefused:
    return CommandRefused(
        f"NOT STARTED: a run could not be kept now ({why}): free some space, or start it anyway "
        "with a reason"
    )
