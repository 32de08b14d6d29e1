"""A simulated bench with a real daemon, in lock-step.

The bench owns the clock. It advances only when the daemon has taken the last reading, so a seed
gives the same run at any speed.
"""

import asyncio
import contextlib
import random
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from pathlib import Path
from typing import Self, TypeVar

from msgspec import Struct

from ramphold.clock import NS_PER_S
from ramphold.control import sample_methods
from ramphold.control.act import Method
from ramphold.control.client import Client
from ramphold.control.handlers import Handlers
from ramphold.control.instrument_methods import ON_HEALTH, ON_MASS, InstrumentsHealth
from ramphold.control.methods import Told
from ramphold.control.run_methods import PUMP, LeverState, PumpAction, PumpParams
from ramphold.control.simulated_methods import (
    CHOOSE_SAND,
    LOAD_BALANCE,
    ChooseSandParams,
    LoadBalanceParams,
    Loaded,
    SandChosen,
    SandQuality,
)
from ramphold.core import MassReading, MassState, Snapshot
from ramphold.daemon.main import Daemon
from ramphold.demo._bench_files import write_bench_files
from ramphold.demo._demo_folder import EPOCH_UTC_NS, goes_on_at_ns, held_folder
from ramphold.demo._sample_masses import InventedMasses
from ramphold.demo.press_screen import press_screen
from ramphold.errors import CommandRefused, PortError
from ramphold.sample import CRUSH, SampleReceived
from ramphold.sim import (
    SANDS,
    Hand,
    HandHabits,
    LeverMove,
    Operator,
    OwnHand,
    Press,
    PressParameters,
    Sand,
    Sensor,
    SensorParameters,
)
from ramphold.sim.ports import BenchClock, SimulatedPorts

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

OPERATOR = "demo"

_STEP_NS = NS_PER_S // 10
_ANSWER_S = 5.0
_EVEN = HandHabits(unevenness=0.0, slowest_per_s=0.002)
_ASLEEP_S = 2.0
# No load that a sensor would show; a valve that stands open gets there in a few seconds.
_OFF_LBF = 5.0
_RELEASED_NS = 30 * NS_PER_S


class SimulatedBench:
    """A press with a bed of sand, an operator, a balance, and the daemon.

    Used as an asynchronous context.

    Args:
        folder: for the database, the socket and the ports; what is there already goes on.
        seed: of everything random.
        speed: times real time; None: as fast as possible.
        sand: the quality of the sand, until another is chosen.
        force: gives the force on the user's lever now, as a share of the full force; None: the user
            has keys only.
    """

    def __init__(
        self,
        folder: Path,
        *,
        seed: int,
        speed: float | None,
        sand: str = SandQuality.FAIR,
        force: Callable[[], float] | None = None,
    ) -> None:
        self._rng = random.Random(seed)  # noqa: S311 - a simulation
        self._parameters = PressParameters().draw(self._rng)
        self._sand = SANDS[sand]
        self.lay_bed()
        self._sensor = Sensor(self._rng, SensorParameters(repeat_share=0.0))
        self._operator = Operator(self._rng)
        # Whoever presses on a real lever is as uneven as he is.
        hand = Hand(self._rng, _EVEN) if force else self._operator.hand
        self._own_hand, self._force = OwnHand(hand), force
        self._own = False
        self._on_bed: int | None = None
        self._masses = InventedMasses(self, seed)
        self._folder = folder
        self._speed = self._usual_speed = speed
        self.clock = BenchClock(EPOCH_UTC_NS)
        self._cleanup = contextlib.AsyncExitStack()

    async def __aenter__(self) -> Self:
        async with contextlib.AsyncExitStack() as stack:
            stack.enter_context(held_folder(self._folder))
            self.config = write_bench_files(self._folder)
            self.clock.advance_to(goes_on_at_ns(Path(self.config.store.path)))
            self.ports = stack.enter_context(SimulatedPorts(self._folder))
            self.ports.serve_on(asyncio.get_running_loop())
            self.daemon = await stack.enter_async_context(
                Daemon(self.config, self.clock, simulation=self._answer)
            )
            socket = Path(self.config.control.socket)
            self.client = await stack.enter_async_context(await Client.connect(socket))
            watcher = await stack.enter_async_context(await Client.connect(socket))
            self._told = await watcher.subscribe(ON_HEALTH, ON_MASS)
            self.set_speed(self._speed)
            if not self._all_open():
                await self._hear(
                    lambda told: isinstance(told, InstrumentsHealth) and self._all_open()
                )
            self._cleanup = stack.pop_all()
        return self

    async def __aexit__(self, *_: object) -> None:
        await self._cleanup.aclose()

    async def ask(self, method: Method[P, R], **params: object) -> R:
        """Call a method of the daemon; an act is signed by the demo's operator."""
        if method.needs_initials:
            params.setdefault("operator", OPERATOR)
        return await self.client.call(method, method.params(**params))

    async def receive_sand(self, laboratory_number: str) -> SampleReceived:
        """Add an invented 20/40 sand that is to be crushed."""
        return await self.ask(
            sample_methods.ADD_SAMPLE,
            laboratory_number=laboratory_number,
            client_reference="an invented sand",
            size="20/40",
            tests=(CRUSH,),
        )

    def lay_bed(self) -> None:
        """Put a cell with a fresh charge under the press."""
        self._in_cell = self._sand
        drawn = self._parameters
        crush_mpa = drawn.crush_mpa * self._sand.shares_stress_with(Sand())
        self._press = Press(replace(drawn, crush_mpa=crush_mpa), self._rng)

    def set_speed(self, speed: float | None) -> None:
        """Set the speed, as in the constructor."""
        self._usual_speed = speed
        self._go(speed)

    def _go(self, speed: float | None) -> None:
        self._speed = speed
        self._since_s, self._since_ns = asyncio.get_running_loop().time(), self.clock.now_ns()

    async def skip(self, seconds: float) -> None:
        """Skip a time in one step, with nobody at the press."""
        self.clock.advance_to(self.clock.now_ns() + round(seconds * NS_PER_S))
        await self._step(LeverMove())

    async def pass_time(self, seconds: float) -> None:
        """Let a time pass with nobody at the press, except the user."""
        end_ns = self.clock.now_ns() + round(seconds * NS_PER_S)
        while self.clock.now_ns() < end_ns:
            await (self.pump() if self._own else self._step(LeverMove()))

    async def pump(self) -> Snapshot | None:
        """Let the operator, or the user, work the lever for one reading."""
        t_ns = self.clock.now_ns() + _STEP_NS
        live = self.daemon.press.live
        if live is not None and live.number != self._on_bed:
            # A run started at the screen must not find the bed of the last one.
            if self._on_bed is not None and self._press.peak_psi:
                self.lay_bed()
            self._on_bed = live.number
        if self._own:
            if self._force is not None:
                self._own_hand.push(self._force())
            move = self._own_hand.act(t_ns, self._press.stress_psi)
        else:
            screen = press_screen(self.daemon.press.snapshot())
            move = self._operator.act(t_ns, screen, gauge_psi=self._press.stress_psi)
        await self._step(move)
        return self.daemon.press.snapshot().snapshot

    async def release_fully(self) -> None:
        """Let the operator keep the valve open until nothing is left on the cell.

        A user who takes the lever does that himself.
        """
        end_ns = self.clock.now_ns() + _RELEASED_NS
        while self._press.force_lbf > _OFF_LBF and not self._own and self.clock.now_ns() < end_ns:
            await self.pump()

    async def weigh(self, mass_g: float) -> None:
        """Empty the balance, put a mass on it, and wait for a stable reading."""
        await self._settle(0.0)
        await self._settle(mass_g)

    def weighed_out_g(self, target_g: float) -> float:
        """A charge as an operator weighs it out, in g."""
        return round(target_g + self._rng.gauss(0, 0.01), 3)

    def crushed_g(self, charge_g: float) -> float:
        """The part of a charge that passes the lower sieve after the crush, in g."""
        return round(self._in_cell.pan_g(charge_g, self._press.peak_psi, self._rng), 3)

    async def _settle(self, mass_g: float) -> None:
        """Wait until the daemon has heard what is on the balance."""
        self.ports.balance.put(mass_g)
        settled_ns = self.clock.now_ns() + _STEP_NS
        await self.pass_time(1.5)
        # A line that was late may still show the mass before.
        await self._hear(
            lambda told: (
                isinstance(told, MassReading)
                and told.usable
                and told.t_ns >= settled_ns
                and told.mass_g == round(mass_g, 3)
            )
        )

    def _answer(self, handlers: Handlers) -> None:
        """Answer what a hand does at this bench."""

        async def pump(wanted: PumpParams) -> LeverState:
            return self._by_hand(wanted)

        async def load_balance(wanted: LoadBalanceParams) -> Loaded:
            on_it = self.ports.balance
            on_it.put(self._masses.loaded_g(on_it.mass_g, wanted))
            await self._heard_on_balance()
            return Loaded(mass_g=on_it.mass_g)

        async def choose_sand(wanted: ChooseSandParams) -> SandChosen:
            self._sand = SANDS[wanted.quality]
            if self.daemon.press.live is None and not self._press.peak_psi:
                self.lay_bed()  # the cell was not crushed: it is filled anew
            return SandChosen(quality=wanted.quality, ten_pct_psi=self._sand.ten_pct_psi)

        handlers.on(PUMP, pump)
        handlers.on(LOAD_BALANCE, load_balance)
        handlers.on(CHOOSE_SAND, choose_sand)

    def _by_hand(self, wanted: PumpParams) -> LeverState:
        """Do what the user's hand does; in real time while it holds the lever."""
        by_key = wanted.act in (PumpAction.SQUEEZE, PumpAction.SLIP, PumpAction.STROKE)
        if self._force is not None and by_key:
            raise CommandRefused("the lever is a load: press on it")
        own = wanted.act is not PumpAction.LEAVE
        if own != self._own:
            self._own = own
            # A bench without a speed is not slowed down for a hand.
            self._go(1.0 if own and self._usual_speed else self._usual_speed)
        t_ns = self.clock.now_ns()
        if wanted.act is PumpAction.SQUEEZE:
            self._own_hand.squeeze(t_ns)
        elif wanted.act is PumpAction.SLIP:
            self._own_hand.slip(t_ns)
        elif wanted.act is PumpAction.STROKE:
            snapshot = self.daemon.press.snapshot().snapshot
            self._own_hand.stroke((snapshot and snapshot.cue and snapshot.cue.size) or 1.0)
        elif wanted.act is PumpAction.RELEASE:
            self._own_hand.release()
        return LeverState(own=own)

    async def _step(self, move: LeverMove) -> None:
        t_ns = self.clock.now_ns() + _STEP_NS
        force_lbf = self._press.step(t_ns, move)
        shown_lbf = self._sensor.read(force_lbf, pumping=move.travel > 0)
        self.clock.advance_to(t_ns)
        press, seen = self.daemon.press, self.daemon.press.readings_seen
        press.read_one.clear()
        self.ports.send_load(shown_lbf)
        try:
            async with asyncio.timeout(_ANSWER_S):
                while press.readings_seen == seen:
                    await press.read_one.wait()
                    press.read_one.clear()
        except TimeoutError:
            raise PortError("the simulated load line was not read in 5 s: try again") from None
        if self._speed is not None:
            ahead_s = (t_ns - self._since_ns) / NS_PER_S / self._speed
            ahead_s -= asyncio.get_running_loop().time() - self._since_s
            if ahead_s < -_ASLEEP_S:
                self._go(self._speed)  # the computer slept: no rush through what was missed
            await asyncio.sleep(ahead_s)

    async def _heard_on_balance(self) -> None:
        """Wait until the daemon has heard what is on the balance: before that it keeps another."""
        on_it = self.ports.balance

        def shows_it(told: Told) -> bool:
            if not isinstance(told, MassReading):
                return False
            over = told.state is MassState.OVERLOAD
            return over if on_it.overloaded else told.mass_g == on_it.mass_g

        async with await Client.connect(Path(self.config.control.socket)) as listener:
            await self._hear(shows_it, await listener.subscribe(ON_MASS))

    async def _hear(
        self, wanted: Callable[[Told], bool], all_told: AsyncIterator[Told] | None = None
    ) -> None:
        """Wait for a message from the daemon."""
        try:
            async with asyncio.timeout(_ANSWER_S):
                async for told in all_told or self._told:
                    if wanted(told):
                        return
        except TimeoutError:
            raise PortError(
                "the simulated balance did not show what was put on it: try again"
            ) from None

    def _all_open(self) -> bool:
        instruments = self.daemon.status().instruments
        return len(instruments) == 2 and all(one.ok for one in instruments)  # noqa: PLR2004
