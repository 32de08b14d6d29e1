"""The daemon: built from the configuration, run, and shut down."""

import asyncio
import contextlib
import logging
import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any, Self

from ramphold import __version__
from ramphold.clock import NS_PER_S, Clock
from ramphold.control import instrument_methods, server_methods
from ramphold.control.act import ON_RECORD, Method, NoParams, RecordAdded, Topic
from ramphold.control.handlers import Handlers
from ramphold.control.server import Server
from ramphold.control.simulated_methods import SIMULATED_METHODS
from ramphold.core import MassReading
from ramphold.daemon._balance_now import BalanceNow
from ramphold.daemon._file_watch import FileWatch
from ramphold.daemon._packing import pack_for_ever
from ramphold.daemon._publishing import PublishService
from ramphold.daemon._recovery import Recovery
from ramphold.daemon._signing import SigningService
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon._trust_service import TrustService
from ramphold.daemon._unusual_values import record_unusual_values
from ramphold.daemon._watchdog import Watchdog
from ramphold.daemon.calibration import CalibrationService
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import Certificates
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.instruments import Instruments
from ramphold.daemon.pacing_service import PacingService
from ramphold.daemon.press import PressService
from ramphold.daemon.records import RecordService
from ramphold.daemon.tail_folder import TailFolder, second_place
from ramphold.daemon.trial_file import TrialFile
from ramphold.errors import CommandRefused, StoreError
from ramphold.notify import Notifier
from ramphold.sample import ClockStamp, Record

# How often the time is looked at: where it is simulated, and may run faster; else, unless the load
# comes to be missed before that. An instrument that fell silent without a run is told so late.
_SIMULATED_TICK_S, _TICK_S, _LEAST_TICK_S = 0.05, 0.1, 0.005

# How often what the disk refused at the start is tried again.
_AGAIN_S = 1.0

_log = logging.getLogger(__name__)


#: Lets a simulated bench answer the methods that only it has.
Simulation = Callable[[Handlers], None]


class Daemon:
    """Everything on the press computer; `async with` starts and stops it.

    Args:
        config: the bench.
        clock: the time.
        notifier: reports to the service manager.
        simulation: the hand at a simulated bench; None on a real one.
        second: the folder of what the database refuses of a run; None: memory alone.
    """

    def __init__(
        self,
        config: BenchConfig,
        clock: Clock,
        notifier: Notifier | None = None,
        simulation: Simulation | None = None,
        second: Path | None = None,
    ) -> None:
        self.config = config
        self._clock = clock
        self._notifier = notifier or Notifier()
        self._simulation = simulation
        self._tails = TailFolder(second, Path(config.store.path))
        self._recovery = Recovery(self._tails, clock, lambda: self._unfinished)
        self._cleanup = contextlib.AsyncExitStack()
        self._server: Server | None = None
        self._unrecorded = ""

    async def __aenter__(self) -> Self:
        async with contextlib.AsyncExitStack() as stack:
            path = Path(self.config.store.path)
            self._store = await StoreThread.open(
                path, self._tell_records, self._recovery, self._stamp
            )
            stack.push_async_callback(self._store.aclose)
            self._build()
            self._build_trust()
            stack.push_async_callback(self.signing.sign)
            stack.push_async_callback(self.press.write)
            if self._store.refused:
                await self._record_start()  # the newest zero can be read though nothing is taken
            else:
                await self._store_opened()
            await self.trust.refresh()
            self._server = Server(Path(self.config.control.socket), self._handlers())
            await stack.enter_async_context(self._server)
            await self._start_tasks(stack)
            await stack.enter_async_context(self.instruments)
            self._cleanup = stack.pop_all()
        self._notifier.ready()
        return self

    async def __aexit__(self, *_: object) -> None:
        self._notifier.stopping()
        await self._cleanup.aclose()

    def status(self) -> server_methods.Status:
        """What the bench is, and what it is doing."""
        return server_methods.Status(
            bench=self.config.bench,
            version=__version__,
            t_ns=self._clock.now_ns(),
            utc_ns=self._clock.utc_ns(),
            instruments=self.instruments.health(),
            run=self.press.live_run,
            simulated=self._simulation is not None,
            first_unit=self.config.screen.first_unit,
            interrupted=self._store.interrupted,
            trust=self.trust.parts,
            taken_up=self.press.taken_up,
            unusual=self.config.unusual_words,
        )

    # --- inside ------------------------------------------------------------------------------

    def _stamp(self) -> ClockStamp | None:
        """What a record is written with; None where nothing is known of the clocks."""
        known = self._clock.state()
        if not known.boot:
            return None
        return ClockStamp(
            boot=known.boot, t_ns=self._clock.now_ns(), synchronised=known.synchronised
        )

    @property
    def _unfinished(self) -> int | None:
        """Number of a run that this daemon follows; none before it is built."""
        return self.press.unfinished if hasattr(self, "press") else None

    async def _store_opened(self) -> None:
        for number in self._store.interrupted:
            _log.warning("run %d was interrupted: the daemon died while it was live", number)
        if (run := self._recovery.taken_up) is not None:
            self._recovery.taken_up = None
            self.press.take_up(run)
        await self.signing.start()
        await self._record_start()

    async def _record_start(self) -> None:
        """Record what the bench starts with; a disk that has no room even for that is told."""
        try:
            await self.calibration.restore()
            await record_unusual_values(self.config, self._store, self._clock)
        except StoreError as error:
            if not self._unrecorded:
                _log.error("certificates and unusual values are not recorded yet: %s", error)
            self._unrecorded = str(error)
        else:
            self._unrecorded = ""

    async def _record_later(self) -> None:
        """See once a second to what could not be recorded at the start."""
        await self._store.open_later(self._store_opened)
        while self._unrecorded:
            await asyncio.sleep(_AGAIN_S)
            await self._record_start()

    def _build(self) -> None:
        """Build everything that works on the open store."""
        config, clock, store = self.config, self._clock, self._store
        folder = Path(config.calibration.folder) if config.calibration else None
        certificates = Certificates(folder)
        trial = TrialFile(Path(config.store.path))
        self.pacing = PacingService(config.bench, trial, store, clock)
        self.in_force = CalibrationInForce(config, certificates)
        self.press = PressService(
            config,
            store,
            clock,
            self._publish,
            calibration=lambda: self.in_force.calibration(clock.utc_ns()),
            pacing=self.pacing.start,
            tails=self._tails,
            trust=lambda: self.trust.parts,
        )
        self.balance = BalanceNow(config.balance, clock, lambda: self.in_force.balance)
        self.records = RecordService(config, self.balance, store, clock)
        self.instruments = Instruments(
            config,
            clock,
            self.in_force,
            on_load=self.press.take_reading,
            on_mass=self._take_mass,
            on_health=self._tell_health,
        )
        # Before anything is recorded, since every record wakes it.
        self.signing = SigningService(store, Path(config.store.path), clock)
        self.publishing = PublishService(config, store, clock, self.press, self.instruments)
        self.calibration = CalibrationService(
            certificates, self.in_force, self.instruments.readings, store, clock
        )

    def _build_trust(self) -> None:
        """Build what looks at all of that."""
        self.trust = TrustService(
            self.config,
            self._clock,
            self._publish,
            press=self.press,
            instruments=self.instruments,
            publishing=self.publishing,
            signing=self.signing,
            in_force=self.in_force,
            store=self._store,
            simulated=self._simulation is not None,
        )
        self.publishing.tell_trust(lambda: self.trust.parts)

    async def _start_tasks(self, stack: contextlib.AsyncExitStack) -> None:
        # A bug that ends one of these ends the daemon; the service manager restarts it.
        group = await stack.enter_async_context(asyncio.TaskGroup())
        for work in (
            self.press.write_for_ever(),
            pack_for_ever(self.press, self._store),
            FileWatch(self.press, self._store).run(),
            self._tick(),
            self.publishing.run(),
            self.signing.run(),
            self.trust.run(),
            self._record_later(),
        ):
            stack.callback(group.create_task(work).cancel)

    def _handlers(self) -> Handlers:
        handlers = Handlers(lambda: self.press.live_run, lambda: self.press.ending)
        handlers.on(server_methods.STATUS, self._answer_status)
        simulated: tuple[Method[Any, Any], ...] = SIMULATED_METHODS
        for method in simulated:
            handlers.on(method, self._refuse)
        if self._simulation is not None:
            self._simulation(handlers)
        for service in (
            self.press,
            self.records,
            self.instruments,
            self.calibration,
            self.pacing,
            self.publishing,
            self.signing,
        ):
            service.answer(handlers)
        return handlers

    async def _answer_status(self, _: NoParams) -> server_methods.Status:
        return self.status()

    async def _refuse(self, _: Any) -> Any:  # noqa: ANN401
        raise CommandRefused("this bench is real: only a hand at it can do that")

    def _publish(self, topic: Topic[Any], payload: Any) -> None:  # noqa: ANN401
        # Before the server runs there is nobody to tell; clients ask when they connect.
        if self._server is not None:
            self._server.publish(topic, payload)

    def _take_mass(self, reading: MassReading) -> None:
        self.balance.take(reading)
        self._publish(instrument_methods.ON_MASS, reading)

    def _tell_health(self) -> None:
        self._publish(
            instrument_methods.ON_HEALTH,
            instrument_methods.InstrumentsHealth(instruments=self.instruments.health()),
        )

    def _tell_records(self, added: list[Record]) -> None:
        self.publishing.wake()
        self.signing.wake()
        self.press.take_records(added)
        for record in added:
            self._publish(ON_RECORD, RecordAdded.of(record))

    async def _tick(self) -> None:
        """Pass the time to the press; feed the watchdog while the load is being read."""
        fed_s, loop = 0.0, asyncio.get_running_loop()
        watchdog = Watchdog(loop.time())
        while True:
            now_ns, run = self._clock.now_ns(), self.press.live
            self.press.pass_time(now_ns)
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
            due_ns = run.tracker.next_deadline if run else None
            await asyncio.sleep(pause_s(now_ns, due_ns, simulated=self._simulation is not None))


def pause_s(now_ns: int, due_ns: int | None, *, simulated: bool) -> float:
    """How long after `now_ns` the time is looked at again, in s.

    Args:
        now_ns: the time in ns.
        due_ns: when a reading is missed if none comes; None where none is expected.
        simulated: whether the bench's time may pass faster than that of the pause.
    """
    if simulated:
        return _SIMULATED_TICK_S
    if due_ns is None:
        return _TICK_S
    return min(max((due_ns - now_ns) / NS_PER_S, _LEAST_TICK_S), _TICK_S)


async def run(config: BenchConfig, clock: Clock) -> None:
    """Run the daemon until SIGTERM or SIGINT."""
    stop = asyncio.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(number, stop.set)
    notifier = Notifier.from_environ(os.environ, os.getpid())
    second = second_place(config.store.second, os.environ)
    async with Daemon(config, clock, notifier, second=second):
        _log.info("bench %s listens on %s", config.bench, config.control.socket)
        await stop.wait()
