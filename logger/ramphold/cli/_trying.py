"""Who tries a press: a person who is told what to do, or a simulated one on a simulated press."""

import asyncio
import contextlib
import random
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Protocol

import click

from ramphold.cli._reach import Reach
from ramphold.clock import NS_PER_S
from ramphold.control.bench_methods import READINGS, ReadingsWanted
from ramphold.core import Medium, StepKind, TrialStep
from ramphold.daemon._certificates import Certificates
from ramphold.daemon._gauge import Gauge
from ramphold.daemon.config import (
    BenchConfig,
    ControlConfig,
    IndicatorConfig,
    Lbf,
    PressConfig,
    StoreConfig,
)
from ramphold.daemon.instruments import Instruments
from ramphold.errors import InputError, PortError
from ramphold.method import cell
from ramphold.sim import Hand, LeverMove, Press, PressParameters, Sensor, SensorParameters
from ramphold.sim.bench import Bench, BenchClock

__all__ = ["Loads", "Person", "SimulatedPerson", "Trier", "simulated_person"]

#: Raw loads as (time in ns, stress in psi).
Loads = list[tuple[int, float]]

_FULL = {1.0: "full", 0.5: "half", 0.25: "quarter", 0.125: "1/8", 0.0625: "1/16"}
_BETWEEN_S = 5.0
_SEAT_PSI = 200.0


class Trier(Protocol):
    """Does what a step of the trial asks for."""

    async def prepare(self, medium: Medium) -> None:
        """Put a medium under the piston, and close until it touches."""

    async def do(self, step: TrialStep) -> Loads:
        """Do a step; the loads read in it."""

    async def release(self) -> None:
        """Open the valve."""


class Person:
    """A person at the press, asked by prompts.

    Args:
        here: the bench's instruments.
        bore_in: of the cell, to tell stress by.
        limit_psi: what the load is kept under.
    """

    def __init__(self, here: Reach, bore_in: float, limit_psi: float) -> None:
        self._here = here
        self._bore_in = bore_in
        self._limit_psi = limit_psi

    async def prepare(self, medium: Medium) -> None:
        """Ask for it."""
        what = {
            Medium.DISC: "put the steel disc under the piston, without sand",
            Medium.SAND: "put a levelled cell of sand under the piston",
        }[medium]
        limit_lbf = cell.force_lbf(self._limit_psi, self._bore_in)
        self._asked(f"{what}; close and pump to about {_SEAT_PSI:.0f} psi; lever up; then Enter")
        click.echo(f"  stop whatever is asked when the load nears {limit_lbf:.0f} lbf", err=True)

    async def do(self, step: TrialStep) -> Loads:
        """Ask for it, and take what was read meanwhile.

        Raises:
            InputError: the load gave too few forces, or came over the limit.
        """
        # What came while somebody was asked has to be taken in first.
        await asyncio.sleep(0.2)
        wanted = ReadingsWanted(instrument="load", limit=1)
        newest = (await self._here.ask(READINGS, wanted)).readings
        click.echo(f"  {_told(step)}", err=True)
        self._asked("  press Enter when it is done")
        await asyncio.sleep(0.2)
        after_ns = newest[-1].t_ns if newest else 0
        found = await self._here.ask(READINGS, ReadingsWanted(instrument="load", after_ns=after_ns))
        loads = [
            (row.t_ns, cell.stress_psi(row.value, self._bore_in))
            for row in found.readings
            if row.value is not None
        ]
        if not loads:
            raise InputError("the load gives no force: `ramphold check` says why")
        middle = sorted(psi for _, psi in loads[-9:])[len(loads[-9:]) // 2]
        if middle > self._limit_psi:
            raise InputError(
                f"the load came to {middle:.0f} psi, over {self._limit_psi:.0f}: release it, "
                "and begin again with a smaller --limit"
            )
        return loads

    async def release(self) -> None:
        """Ask for it."""
        self._asked("open the valve and take everything out; then Enter")

    @staticmethod
    def _asked(text: str) -> None:
        click.prompt(text, default="", show_default=False, err=True)


class SimulatedPerson:
    """A hand on a simulated press whose load is read through a real port, in lock-step.

    Args:
        bench: where the load indicator speaks.
        clock: the bench's.
        instruments: what reads it.
        taken: set when a reading has been taken in.
        rng: where chance comes from.
        per_s: readings a second.
    """

    def __init__(
        self,
        *,
        bench: Bench,
        clock: BenchClock,
        instruments: Instruments,
        taken: asyncio.Event,
        rng: random.Random,
        per_s: float,
    ) -> None:
        self._bench, self._clock, self._instruments = bench, clock, instruments
        self._taken = taken
        self._rng = rng
        self._step_ns = round(NS_PER_S / per_s)
        self._sensor = Sensor(rng, SensorParameters(noise_lbf=0.45))
        self._hand = Hand(rng)
        self._parameters = PressParameters().draw(rng)

    async def prepare(self, medium: Medium) -> None:
        """Lay it in, and seat the piston."""
        p = self._parameters
        if medium is Medium.DISC:
            p = PressParameters(
                stroke_cm3=p.stroke_cm3,
                gap_cm3=p.gap_cm3,
                modulus_mpa=100_000.0,
                stiffening=0.0,
                creep_ratio=1e-6,
                crush_strain=0.0,
                frame_mn_m=p.frame_mn_m,
                air_cm3=p.air_cm3,
                leak_s=p.leak_s,
                breaks_per_s=0.0,
            )
        self._press = Press(p, self._rng)
        self._hand = Hand(self._rng, self._hand.habits)
        while self._press.stress_psi < _SEAT_PSI:
            self._hand.pull(0.1 if not self._hand.busy else 0.0)
            await self._pass()
        self._hand.pull(0.0)
        self._hand.back()
        await self._rest(3.0)

    async def do(self, step: TrialStep) -> Loads:
        """Do it as the hand's habits have it."""
        newest = self._instruments.readings(ReadingsWanted(instrument="load", limit=1)).readings
        after_ns = newest[-1].t_ns
        if step.kind is StepKind.STROKES:
            for _ in range(step.count):
                self._hand.stroke(step.size)
                await self._rest(_BETWEEN_S)
        elif step.kind is StepKind.PULL:
            await self._pull(step.seconds)
        else:
            await self._rest(step.seconds)
        found = self._instruments.readings(ReadingsWanted(instrument="load", after_ns=after_ns))
        bore_in = self._parameters.bore_in
        return [
            (row.t_ns, cell.stress_psi(row.value, bore_in))
            for row in found.readings
            if row.value is not None
        ]

    async def release(self) -> None:
        """Open the valve."""

    async def _pull(self, seconds: float) -> None:
        for _ in range(round(seconds * NS_PER_S / self._step_ns)):
            if not self._hand.busy:
                self._hand.pull(0.04)
            await self._pass()
        self._hand.pull(0.0)
        await self._rest(1.0)

    async def _rest(self, seconds: float) -> None:
        for _ in range(round(seconds * NS_PER_S / self._step_ns)):
            if not self._hand.busy:
                self._hand.pull(0.0)
            await self._pass()

    async def _pass(self) -> None:
        """Let one reading pass, until it has been taken in."""
        move = self._hand.move(self._step_ns / NS_PER_S)
        await self._read(self._clock.now_ns() + self._step_ns, move)

    async def _read(self, t_ns: int, move: LeverMove) -> None:
        force_lbf = self._press.step(t_ns, move)
        shown_lbf = self._sensor.read(force_lbf, pumping=move.travel > 0)
        self._clock.advance_to(t_ns)
        self._bench.send_load(shown_lbf)
        async with asyncio.timeout(5):
            await self._taken.wait()
        self._taken.clear()


@contextlib.asynccontextmanager
async def simulated_person(seed: int, per_s: float) -> AsyncIterator[SimulatedPerson]:
    """A simulated person on a simulated press, with ports of its own.

    Raises:
        PortError: the simulated load line was not read.
    """
    with tempfile.TemporaryDirectory(prefix="ramphold-trial-") as name:
        folder = Path(name)
        config = BenchConfig(
            bench="simulated",
            press=PressConfig(rating=Lbf(50_000)),
            load=IndicatorConfig(
                port=str(folder / "load"), capacity=Lbf(50_000), readings_per_s=per_s
            ),
            store=StoreConfig(path=str(folder / "runs.sqlite3")),
            control=ControlConfig(socket=str(folder / "control.sock")),
        )
        clock, gauge = BenchClock(0), Gauge(config, Certificates(None))
        taken, told = asyncio.Event(), asyncio.Event()
        with Bench(folder) as bench:
            async with Instruments(
                config, clock, gauge, on_load=lambda _: taken.set(), on_health=told.set
            ) as instruments:
                try:
                    async with asyncio.timeout(5):
                        while not any(one.ok for one in instruments.health()):
                            await told.wait()
                            told.clear()
                    yield SimulatedPerson(
                        bench=bench,
                        clock=clock,
                        instruments=instruments,
                        taken=taken,
                        rng=random.Random(seed),  # noqa: S311  (a simulation)
                        per_s=per_s,
                    )
                except TimeoutError:
                    raise PortError("the simulated load line was not read in 5 s") from None


def _told(step: TrialStep) -> str:
    match step.kind:
        case StepKind.STROKES:
            word = _FULL.get(step.size, f"{step.size:g}")
            return (
                f"make {step.count} {word} strokes, {_BETWEEN_S:.0f} s apart, "
                "the lever back up after each"
            )
        case StepKind.PULL:
            return f"pull slowly and evenly for {step.seconds:.0f} s, as slowly as you can"
        case StepKind.REST:
            return f"hands off for {step.seconds:.0f} s"
