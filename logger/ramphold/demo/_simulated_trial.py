"""A trial of a simulated press by a simulated hand."""

import asyncio
import random
from contextlib import AsyncExitStack
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Self

from ramphold.clock import NS_PER_S
from ramphold.control.instrument_methods import ReadingsParams
from ramphold.core import Medium, StepKind, TrialStep
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import Certificates
from ramphold.daemon.config import BenchConfig, ControlConfig, Lbf, PressConfig, StoreConfig
from ramphold.daemon.instruments import Instruments
from ramphold.daemon.loads.indicator_load import IndicatorConfig
from ramphold.errors import PortError
from ramphold.method import cell
from ramphold.sim import Hand, LeverMove, Press, PressParameters, Sensor, SensorParameters
from ramphold.sim.ports import BenchClock, SimulatedPorts

__all__ = ["SimulatedTrier"]

#: Raw loads as (time in ns, stress in psi).
Loads = list[tuple[int, float]]

_BETWEEN_S = 5.0
_SEAT_PSI = 200.0
_ANSWER_S = 5.0


class SimulatedTrier:
    """A hand on a simulated press whose load is read through a real port, in lock-step.

    Used as an asynchronous context.

    Args:
        seed: of everything that chance decides.
        per_s: readings a second.

    Raises:
        PortError: the simulated load line was not read.
    """

    def __init__(self, seed: int, per_s: float) -> None:
        self._rng = random.Random(seed)  # noqa: S311  (a simulation)
        self._per_s = per_s
        self._step_ns = round(NS_PER_S / per_s)
        self._sensor = Sensor(self._rng, SensorParameters(noise_lbf=0.45))
        self._hand = Hand(self._rng)
        self._parameters = PressParameters().draw(self._rng)
        self._taken = asyncio.Event()
        self._clock = BenchClock(0)
        self._open = AsyncExitStack()

    async def __aenter__(self) -> Self:
        async with AsyncExitStack() as stack:
            folder = stack.enter_context(TemporaryDirectory(prefix="ramphold-trial-"))
            config = _config(Path(folder), self._per_s)
            self._ports = stack.enter_context(SimulatedPorts(Path(folder)))
            told = asyncio.Event()
            self._instruments = await stack.enter_async_context(
                Instruments(
                    config,
                    self._clock,
                    CalibrationInForce(config, Certificates(None)),
                    on_load=lambda _: self._taken.set(),
                    on_health=told.set,
                )
            )
            while not any(one.ok for one in self._instruments.health()):
                await _heard(told)
            self._open = stack.pop_all()
        return self

    async def __aexit__(self, *_: object) -> None:
        await self._open.aclose()

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
        newest = self._instruments.readings(ReadingsParams(instrument="load", limit=1)).readings
        after_ns = newest[-1].t_ns
        if step.kind is StepKind.STROKES:
            for _ in range(step.count):
                self._hand.stroke(step.size)
                await self._rest(_BETWEEN_S)
        elif step.kind is StepKind.PULL:
            await self._pull(step.seconds)
        else:
            await self._rest(step.seconds)
        found = self._instruments.readings(ReadingsParams(instrument="load", after_ns=after_ns))
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
        self._ports.send_load(shown_lbf)
        await _heard(self._taken)


async def _heard(event: asyncio.Event) -> None:
    try:
        async with asyncio.timeout(_ANSWER_S):
            await event.wait()
    except TimeoutError:
        raise PortError("the simulated load line was not read in 5 s") from None
    event.clear()


def _config(folder: Path, per_s: float) -> BenchConfig:
    return BenchConfig(
        bench="simulated",
        press=PressConfig(rating=Lbf(50_000)),
        load=IndicatorConfig(port=str(folder / "load"), capacity=Lbf(50_000), readings_per_s=per_s),
        store=StoreConfig(path=str(folder / "runs.sqlite3")),
        control=ControlConfig(socket=str(folder / "control.sock")),
    )
