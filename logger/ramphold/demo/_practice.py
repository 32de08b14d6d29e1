"""An exercise on the simulated press: runs with cues and without, in an order drawn by lot."""

import asyncio
import contextlib
import random
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path

from ramphold.clock import NS_PER_S
from ramphold.control import run_methods, run_queries, specimen_methods
from ramphold.demo._force_lever import ForceLever
from ramphold.demo._simulated_bench import SimulatedBench
from ramphold.errors import CommandRefused
from ramphold.report.practice import PracticeRun

#: Shows a run to the person, given the bench and whether to show cues, until it has ended.
Show = Callable[[SimulatedBench, bool], Awaitable[None]]


def drawn_order(seed: int, of_each: int) -> tuple[bool, ...]:
    """Whether each run has cues: as many with as without, in an order drawn by lot."""
    order = [cued for cued in (False, True) for _ in range(of_each)]
    random.Random(seed).shuffle(order)  # noqa: S311 - an exercise, not a secret
    return tuple(order)


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """Who exercises, at which target, on the press of which seed, and how fast its time goes.

    Attributes:
        person: initials.
        target_psi: the target.
        seed: of the press.
        speed: 1 for a person; None is as fast as it goes, for a program that plays the hand.
        lever: what the person presses on; None: keys or a wheel.
    """

    person: str
    target_psi: float
    seed: int
    speed: float | None = 1.0
    lever: ForceLever | None = None


async def practise_once(folder: Path, exercise: Exercise, *, cued: bool, show: Show) -> PracticeRun:
    """One run by a person's own hand, in real time, on a fresh bed of the same press.

    Raises:
        CommandRefused: the person left before the run began its ramp.
    """
    lever = exercise.lever
    force = lever.share if lever else None
    async with SimulatedBench(
        folder, seed=exercise.seed, speed=exercise.speed, force=force
    ) as bench:
        specimen = await _specimen(bench, exercise.target_psi)
        person = exercise.person
        started = await bench.ask(run_methods.START_RUN, specimen=specimen, operator=person)
        await bench.ask(run_methods.PUMP, act=run_methods.PumpAction.TAKE)
        begun_ns, begun_s = bench.clock.now_ns(), asyncio.get_running_loop().time()
        pumping = asyncio.create_task(_pump(bench))
        try:
            await show(bench, cued)
            if bench.daemon.press.live:
                await bench.ask(run_methods.END_RUN, reason="left the exercise", operator=person)
        finally:
            pumping.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await pumping
        took_s = asyncio.get_running_loop().time() - begun_s
        speed = (bench.clock.now_ns() - begun_ns) / NS_PER_S / took_s
        ended = (await bench.ask(run_queries.RUN, run=started.run)).run
        if ended.assessment is None or ended.assessment.ramp_rate_psi_min is None:
            raise CommandRefused("the run ended before its ramp did: start the exercise again")
        silent_s = lever.silent_s if lever else 0.0
        return PracticeRun.judged(
            ended.plan,
            ended.assessment,
            cued=cued,
            silent_s=silent_s,
            speed=1.0 if exercise.speed is None else speed,
        )


async def _pump(bench: SimulatedBench) -> None:
    while True:
        await bench.pump()


async def _specimen(bench: SimulatedBench, target_psi: float) -> int:
    sample = await bench.receive_sand("PRACTICE-1")
    added = await bench.ask(
        specimen_methods.ADD_SPECIMEN,
        sample=sample.laboratory_number,
        label="practice",
        target_psi=target_psi,
    )
    return added.specimen
