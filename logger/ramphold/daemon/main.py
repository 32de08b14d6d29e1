"""The daemon: builds everything from the configuration, runs it, and owns its shutdown."""

import asyncio
import contextlib
import logging
import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any, Self

from ramphold import __version__
from ramphold.clock import Clock
from ramphold.control import bench_methods, methods, screen_methods
from ramphold.control.server import Handlers, Server
from ramphold.core import Calibration, MassReading
from ramphold.daemon._balance import BalanceNow
from ramphold.daemon._packing import pack_for_ever
from ramphold.daemon._publishing import PublishService
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon._watchdog import Watchdog
from ramphold.daemon.calibration import CalibrationService
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import Certificates
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.instruments import Instruments
from ramphold.daemon.press import PressService
from ramphold.daemon.samples import SampleService
from ramphold.daemon.trial_file import KeptTrial, TrialFile
from ramphold.errors import CommandRefused
from ramphold.notify import Notifier
from ramphold.sample import Record, kind_name

__all__ = ["Daemon", "PumpByHand", "run"]

_TICK_S = 0.05

_log = logging.getLogger(__name__)


#: Lets a hand do something at a simulated press.
PumpByHand = Callable[[screen_methods.Pump], screen_methods.OwnHandNow]


class Daemon:
    """Everything on the press computer; `async with` starts it and takes it down.

    Args:
        config: what stands on the bench.
        clock: the time.
        notifier: tells the service manager how it is.
        pump: the lever of a simulated press; None on a real bench.
    """

    def __init__(
        self,
        config: BenchConfig,
        clock: Clock,
        notifier: Notifier | None = None,
        pump: PumpByHand | None = None,
    ) -> None:
        self.config = config
        self._clock = clock
        self._notifier = notifier or Notifier()
        self._pump = pump
        self._cleanup = contextlib.AsyncExitStack()
        self._server: Server | None = None

    async def __aenter__(self) -> Self:
        async with contextlib.AsyncExitStack() as stack:
            config, clock = self.config, self._clock
            self._store = await StoreThread.open(Path(config.store.path), self._tell_records)
            stack.push_async_callback(self._store.aclose)
            for number in self._store.interrupted:
                _log.warning("run %d was interrupted: the daemon died under it", number)
            certificates = Certificates(_folder(config))
            self.trial = TrialFile(Path(config.store.path))
            self.gauge = CalibrationInForce(config, certificates)
            self.press = PressService(
                config,
                self._store,
                clock,
                self._publish,
                calibration=self._calibration,
                pacing=lambda: self.trial.start,
            )
            self.balance = BalanceNow(config.balance, clock, lambda: self.gauge.balance)
            self.samples = SampleService(config, self.balance, self._store, clock)
            stack.push_async_callback(self.press.write)
            self.instruments = self._make_instruments()
            # Before anything is recorded, which wakes it.
            self.publishing = PublishService(
                config, self._store, clock, self.press, self.instruments
            )
            self.calibration = CalibrationService(
                certificates,
                self.gauge,
                self.instruments.readings,
                self._store,
                clock,
                running=lambda: self.press.live is not None,
            )
            await self.calibration.restore()
            self._server = Server(Path(config.control.socket), self._handlers())
            await stack.enter_async_context(self._server)
            # A bug that ends one of these ends the daemon, loudly; the service manager restarts it.
            group = await stack.enter_async_context(asyncio.TaskGroup())
            for work in (
                self.press.write_for_ever(),
                pack_for_ever(self.press, self._store),
                self._tick(),
                self.publishing.run(),
            ):
                stack.callback(group.create_task(work).cancel)
            await stack.enter_async_context(self.instruments)
            self._cleanup = stack.pop_all()
        self._notifier.ready()
        return self

    async def __aexit__(self, *_: object) -> None:
        self._notifier.stopping()
        await self._cleanup.aclose()

    def status(self) -> methods.Status:
        """What the bench is, and what goes on."""
        live = self.press.live
        return methods.Status(
            bench=self.config.bench,
            version=__version__,
            t_ns=self._clock.now_ns(),
            utc_ns=self._clock.utc_ns(),
            instruments=self.instruments.health(),
            run=live.number if live else None,
            simulated=self._pump is not None,
        )

    # --- inside ------------------------------------------------------------------------------

    def _publish(self, topic: methods.Topic[Any], payload: Any) -> None:  # noqa: ANN401
        # What is done on the way up is told to nobody yet; whoever connects then asks for it.
        if self._server is not None:
            self._server.publish(topic, payload)

    def _make_instruments(self) -> Instruments:
        return Instruments(
            self.config,
            self._clock,
            self.gauge,
            on_load=self.press.take_reading,
            on_mass=self._take_mass,
            on_health=self._tell_health,
        )

    def _take_mass(self, reading: MassReading) -> None:
        self.balance.take(reading)
        self._publish(methods.ON_MASS, reading)

    def _tell_health(self) -> None:
        self._publish(methods.ON_HEALTH, methods.Health(instruments=self.instruments.health()))

    def _tell_records(self, added: list[Record]) -> None:
        self.publishing.wake()
        for one in added:
            self._publish(
                screen_methods.ON_RECORD,
                screen_methods.RecordAdded(
                    record=one.record,
                    kind=kind_name(type(one)),
                    sample=one.sample,
                    specimen=getattr(one, "specimen", None),
                    run=getattr(one, "run", None),
                ),
            )

    def _calibration(self) -> Calibration:
        return self.gauge.calibration(self._clock.utc_ns())

    async def _tick(self) -> None:
        """Pass the time to the press; feed the watchdog while readings come or are sought."""
        fed_s, loop = 0.0, asyncio.get_running_loop()
        watchdog = Watchdog(loop.time())
        while True:
            self.press.pass_time(self._clock.now_ns())
            well = watchdog.well(
                loop.time(),
                rounds=self.instruments.rounds,
                read=self.instruments.handed_over,
                taken=self.press.readings_seen,
            )
            every_s = self._notifier.feed_every_s
            if well and every_s is not None and loop.time() - fed_s >= every_s:
                self._notifier.alive()
                fed_s = loop.time()
            await asyncio.sleep(_TICK_S)

    def _handlers(self) -> Handlers:
        press, handlers = self.press, Handlers()

        async def status(_: methods.NoParams) -> methods.Status:
            return self.status()

        async def snapshot(_: methods.NoParams) -> methods.Live:
            return press.snapshot()

        async def keep_trial(made: bench_methods.TrialMade) -> bench_methods.TrialKept:
            kept = KeptTrial(trial=made.trial, operator=made.operator, utc_ns=self._clock.utc_ns())
            file = await asyncio.to_thread(self.trial.keep, kept)
            return bench_methods.TrialKept(file=str(file), start=self.trial.start)

        async def pump(wanted: screen_methods.Pump) -> screen_methods.OwnHandNow:
            if self._pump is None:
                raise CommandRefused("this press is real: only the lever at it can pump it")
            return self._pump(wanted)

        handlers.on(screen_methods.PUMP, pump)
        handlers.on(bench_methods.KEEP_TRIAL, keep_trial)
        handlers.on(methods.STATUS, status)
        handlers.on(methods.SNAPSHOT, snapshot)
        handlers.on(methods.START_RUN, press.start)
        handlers.on(methods.END_RUN, press.end)
        handlers.on(methods.ACKNOWLEDGE, press.acknowledge)
        handlers.on(methods.CHOOSE_STYLE, press.choose_style)
        handlers.on(screen_methods.TRACE, press.trace)
        self.samples.answer(handlers)
        self.instruments.answer(handlers)
        self.calibration.answer(handlers)
        self.publishing.answer(handlers)
        return handlers


async def run(config: BenchConfig, clock: Clock) -> None:
    """Run the daemon until SIGTERM or SIGINT."""
    stop = asyncio.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(number, stop.set)
    async with Daemon(config, clock, Notifier.from_environ(os.environ, os.getpid())):
        _log.info("bench %s listens on %s", config.bench, config.control.socket)
        await stop.wait()


def _folder(config: BenchConfig) -> Path | None:
    return Path(config.calibration.folder) if config.calibration else None
