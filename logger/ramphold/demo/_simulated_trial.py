"""A trial of a simulated press by a simulated hand."""

import asyncio
import random
from contextlib import AsyncExitStack
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Self

from ramphold.clock import NS_PER_S
from ramphold.control.instrument_methods import Readings, ReadingsParams
from ramphold.core import Medium, StepKind, TrialStep
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import Certificates
from ramphold.daemon.config import BenchConfig, ControlConfig, Lbf, PressConfig, StoreConfig
from ramphold.daemon.instruments import Instruments
from ramphold.daemon.loads.indicator_load import IndicatorConfig
from ramphold.errors import PortError
from ramphold.sim import Hand, Press, PressParameters, Sensor, SensorParameters
from ramphold.sim.ports import BenchClock, SimulatedPorts

_BETWEEN_S = 5.0
_SEAT_PSI = 200.0
_ANSWER_S = 5.0
_PULL_PER_S = 0.04
#: A steel disc in place of the bed.
_STEEL = {
    "bed_mm": 12.3,
    "modulus_mpa": 100_000.0,
    "stiffening": 0.0,
    "creep_ratio": 1e-6,
    "crush_strain": 0.0,
    "breaks_per_s": 0.0,
}


class SimulatedTrier:
    """A hand on a simulated press whose load is read through a real port, in lock-step.

    Used as an asynchronous context.

    Args:
        seed: of everything random.
        per_s: readings a second.

    Attributes:
        bore_in: bore of the cell.

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
        self.bore_in = self._parameters.bore_in
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

    async def readings(self, wanted: ReadingsParams) -> Readings:
        """Readings of the load."""
        return self._instruments.readings(wanted)

    async def prepare(self, medium: Medium) -> None:
        """Put a medium under the piston, and pump until it is seated."""
        parameters = self._parameters
        if medium is Medium.DISC:
            parameters = replace(parameters, **_STEEL)
        self._press = Press(parameters, self._rng)
        self._hand = Hand(self._rng, self._hand.habits)
        while self._press.stress_psi < _SEAT_PSI:
            self._hand.pull(0.1 if not self._hand.busy else 0.0)
            await self._step()
        self._hand.pull(0.0)
        self._hand.back()
        await self._rest(3.0)

    async def act(self, step: TrialStep) -> None:
        """Carry out a step, as well as the hand can."""
        if step.kind is StepKind.STROKES:
            for _ in range(step.count):
                self._hand.stroke(step.size)
                await self._rest(_BETWEEN_S)
        elif step.kind is StepKind.PULL:
            await self._pull(step.seconds)
        else:
            await self._rest(step.seconds)

    async def release(self) -> None:
        """Open the valve."""

    async def _pull(self, seconds: float) -> None:
        await self._work(seconds, _PULL_PER_S)
        self._hand.pull(0.0)
        await self._rest(1.0)

    async def _rest(self, seconds: float) -> None:
        await self._work(seconds, 0.0)

    async def _work(self, seconds: float, pull_per_s: float) -> None:
        for _ in range(round(seconds * NS_PER_S / self._step_ns)):
            if not self._hand.busy:
                self._hand.pull(pull_per_s)
            await self._step()

    async def _step(self) -> None:
        """Let one reading pass."""
        t_ns = self._clock.now_ns() + self._step_ns
        move = self._hand.move(self._step_ns / NS_PER_S)
        force_lbf = self._press.step(t_ns, move)
        self._clock.advance_to(t_ns)
        self._ports.send_load(self._sensor.read(force_lbf, pumping=move.travel > 0))
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
