"""The instruments of the bench: their readings handed over to the daemon's loop, and shown live."""

import asyncio
import logging
from collections.abc import Callable
from functools import partial
from typing import Any, Literal, Self, TypeVar

from ramphold.clock import NS_PER_S, Clock
from ramphold.control import act
from ramphold.control import instrument_methods as methods
from ramphold.control.handlers import Handlers
from ramphold.core import MassReading, Reading
from ramphold.daemon._reading_log import ReadingLog
from ramphold.daemon.calibration_in_force import CalibrationInForce, status
from ramphold.daemon.certificates import today
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.loads.load_kind import LoadInputs
from ramphold.daemon.serial_section import SerialSection
from ramphold.errors import CommandRefused
from ramphold.instruments import HealthReport, HealthState, Instrument, InstrumentSetup, Way

T = TypeVar("T")

#: Names of the two in health reports and requests.
LOAD, BALANCE = "load", "balance"
#: Most bytes of one exchange that are kept.
_MOST_BYTES = 1024 * 1024
#: Readings that a load may miss before it counts as silent.
_MISSED = 10
_FINE = (HealthState.OPENING, HealthState.OPEN)

_log = logging.getLogger(__name__)


class Instruments:
    """Reads the instruments; `async with` starts and stops them.

    Build it in the event loop: all callbacks run there.

    Args:
        config: the bench.
        clock: stamps the readings.
        calibration: the calibration in force.
        on_load: called with each reading of the load, corrected.
        on_mass: called with each reading of the balance.
        on_health: called when the health of one has changed.

    Raises:
        ConfigError: the balance's profile does not go with its mode.
    """

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        config: BenchConfig,
        clock: Clock,
        calibration: CalibrationInForce,
        *,
        on_load: Callable[[Reading], None] = lambda _: None,
        on_mass: Callable[[MassReading], None] = lambda _: None,
        on_health: Callable[[], None] = lambda: None,
    ) -> None:
        self._config = config
        self._clock = clock
        self._calibration = calibration
        self._on_load, self._on_mass, self._on_health = on_load, on_mass, on_health
        self._loop = asyncio.get_running_loop()
        self._health: dict[str, HealthReport] = {}
        self._handed_over = 0
        load = config.load
        self._load = _Channel(load.place, load.lines, ReadingLog("count" if load.counts else "lbf"))
        inputs = LoadInputs(
            silent_s=max(config.rules.stale_s, _MISSED / load.readings_per_s),
            tap=self._load.take_bytes,
            scale=calibration.scale,
        )
        self._load.instrument = load.make(self._setup(LOAD, self._hand_over_load), inputs)
        self._channels = {LOAD: self._load}
        if config.balance is not None:
            channel = _Channel(config.balance.place, config.balance, ReadingLog("g"))
            setup = self._setup(BALANCE, partial(self._in_loop, self._take_mass))
            channel.instrument = config.balance.make(setup, channel.take_bytes)
            self._channels[BALANCE] = channel

    async def __aenter__(self) -> Self:
        for channel in self._channels.values():
            channel.instrument.start()
        return self

    async def __aexit__(self, *_: object) -> None:
        stops = [channel.instrument.stop for channel in self._channels.values()]
        await asyncio.gather(*(self._loop.run_in_executor(None, stop) for stop in stops))

    @property
    def rounds(self) -> int:
        """Number of passes of the loop of the load's thread."""
        return self._load.instrument.rounds

    @property
    def handed_over(self) -> int:
        """Readings of the load that its thread has handed over."""
        return self._handed_over

    def health(self) -> tuple[methods.InstrumentHealth, ...]:
        """The health of each."""
        return tuple(
            methods.InstrumentHealth(
                name=health.name, kind=health.state, ok=health.ok, text=health.detail
            )
            for health in self._health.values()
        )

    def answer(self, handlers: Handlers) -> None:
        """Answer the methods about instruments."""

        async def instruments(_: act.NoParams) -> methods.InstrumentsNow:
            return self.now()

        async def readings(wanted: methods.ReadingsParams) -> methods.Readings:
            return self.readings(wanted)

        handlers.on(methods.INSTRUMENTS, instruments)
        handlers.on(methods.READINGS, readings)
        handlers.on(methods.EXCHANGE, self.exchange)

    def now(self) -> methods.InstrumentsNow:
        """Each instrument live."""
        return methods.InstrumentsNow(instruments=tuple(self._one(name) for name in self._channels))

    def readings(self, wanted: methods.ReadingsParams) -> methods.Readings:
        """The newest readings of an instrument, or those after a time; none if it is missing."""
        channel = self._channels.get(wanted.instrument)
        log = channel.log if channel is not None else ReadingLog("g")
        return log.after(wanted.after_ns, wanted.limit)

    async def exchange(self, wanted: methods.ExchangeParams) -> methods.Exchange:
        """Listen to the bytes of an instrument for a time.

        Raises:
            CommandRefused: there is no such instrument, or it sends no bytes.
        """
        channel = self._channels.get(wanted.instrument)
        if channel is None or channel.lines is None:
            what = "gives counts, no lines" if channel else "is not on this bench"
            raise CommandRefused(f"the {wanted.instrument} {what}: there is nothing to record")
        heard = await channel.listen(wanted.seconds)
        shape = channel.lines.shape()
        return methods.Exchange(
            about=shape.about,
            profile=shape.name,
            unit=shape.bare_unit,
            rate=channel.lines.rate,
            parts=tuple(heard.parts),
            cut=heard.cut,
        )

    # --- inside ------------------------------------------------------------------------------

    def _setup(self, name: str, take: Callable[[T], None]) -> InstrumentSetup[T]:
        return InstrumentSetup(
            name=name,
            clock=self._clock,
            on_reading=take,
            on_health=partial(self._in_loop, self._take_health),
        )

    def _in_loop(self, take: Callable[[T], None], what: T) -> None:
        self._loop.call_soon_threadsafe(take, what)

    def _hand_over_load(self, reading: Reading) -> None:
        self._handed_over += 1
        corrected = self._calibration.correct(reading)
        self._loop.call_soon_threadsafe(self._take_load, reading, corrected)

    def _take_load(self, raw: Reading, corrected: Reading) -> None:
        self._load.log.take(raw, corrected)
        self._on_load(corrected)

    def _take_mass(self, reading: MassReading) -> None:
        self._channels[BALANCE].log.take(reading, reading)
        self._on_mass(reading)

    def _take_health(self, health: HealthReport) -> None:
        level = logging.INFO if health.state in _FINE else logging.WARNING
        _log.log(level, "%s is %s: %s", health.name, health.state, health.detail)
        self._health[health.name] = health
        self._on_health()

    def _one(self, name: str) -> methods.InstrumentNow:
        channel, of_force = self._channels[name], name == LOAD
        log, health = channel.log, channel.instrument.health
        now_ns, utc_ns = self._clock.now_ns(), self._clock.utc_ns()
        newest, figures = log.row, log.figures(now_ns)
        calibration = self._calibration
        certificate = calibration.certificate if of_force else calibration.balance
        return methods.InstrumentNow(
            name=name,
            place=channel.place,
            state=health.state,
            ok=health.ok,
            text=health.detail,
            raw=log.text,
            value=newest.value if newest else None,
            unit="lbf" if of_force else "g",
            quality=newest.quality if newest else "",
            rate_per_s=figures.rate_per_s,
            step=log.step,
            reading_unit=log.unit,
            noise=figures.noise,
            steady_pct=figures.steady_pct,
            age_s=None if newest is None else (now_ns - newest.t_ns) / NS_PER_S,
            calibration="; ".join((status(certificate, utc_ns), *calibration.troubles)),
            certificate=certificate.id if certificate else "",
            days_left=certificate.days_left(today(utc_ns)) if certificate else None,
            zero=calibration.zero_reading if certificate and of_force else None,
        )


class _Channel:
    """One instrument, its newest readings, and who listens to its bytes."""

    instrument: Instrument[Any]

    def __init__(self, place: str, lines: SerialSection | None, log: ReadingLog) -> None:
        self.place, self.lines, self.log = place, lines, log
        self._listeners: list[_HeardBytes] = []

    async def listen(self, seconds: float) -> "_HeardBytes":
        """The bytes that pass the port in a time in s."""
        heard = _HeardBytes()
        self._listeners.append(heard)
        try:
            await asyncio.sleep(seconds)
        finally:
            self._listeners.remove(heard)
        return heard

    def take_bytes(self, way: Way, data: bytes) -> None:
        """Take the bytes that passed the port, in its thread."""
        for listener in tuple(self._listeners):
            listener.take(way, data)


class _HeardBytes:
    """The bytes that passed a port, up to a limit; filled in the port's thread."""

    def __init__(self) -> None:
        self.parts: list[methods.ExchangedBytes] = []
        self.cut = False
        self._size = 0

    def take(self, way: Literal[">", "<"], data: bytes) -> None:
        """Keep the bytes, up to the limit."""
        if self._size + len(data) > _MOST_BYTES:
            self.cut = True
            return
        self._size += len(data)
        self.parts.append(methods.ExchangedBytes(way=way, data=data))
