"""The bench's instruments as the daemon has them: handed over to its loop, watched, shown live."""

import asyncio
import logging
from collections.abc import Callable
from typing import Literal, Self, TypeVar

from ramphold.clock import NS_PER_S, Clock
from ramphold.control import act, instrument_methods
from ramphold.control.handlers import Handlers
from ramphold.core import MassReading, Reading
from ramphold.daemon._reading_log import ReadingLog
from ramphold.daemon.bench import BALANCE, LOAD, make_instruments
from ramphold.daemon.calibration_in_force import CalibrationInForce, status
from ramphold.daemon.certificates import today
from ramphold.daemon.config import BenchConfig, BridgeConfig, IioConfig
from ramphold.errors import CommandRefused
from ramphold.instruments import Health, HealthState, Instrument, PortSettings, Way

__all__ = ["Instruments"]

T = TypeVar("T")

#: Most bytes of one exchange that are kept.
_MOST_BYTES = 1024 * 1024
_FINE = (HealthState.OPENING, HealthState.OPEN)

_log = logging.getLogger(__name__)


class Instruments:
    """Reads the instruments; `async with` starts them and stops them.

    To be made in the event loop, where all its callbacks then run.

    Args:
        config: what stands on the bench.
        clock: stamps what comes.
        gauge: the calibration of the load.
        on_load: takes each reading of the load, corrected.
        on_mass: takes each reading of the balance.
        on_health: is called when the health of one has changed.

    Raises:
        ConfigError: a profile or a port's settings that don't exist.
    """

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        config: BenchConfig,
        clock: Clock,
        gauge: CalibrationInForce,
        *,
        on_load: Callable[[Reading], None] = lambda _: None,
        on_mass: Callable[[MassReading], None] = lambda _: None,
        on_health: Callable[[], None] = lambda: None,
    ) -> None:
        self._config = config
        self._clock = clock
        self._gauge = gauge
        self._on_load, self._on_mass, self._on_health = on_load, on_mass, on_health
        load_unit = "count" if gauge.counts else "lbf"
        self._logs = {LOAD: ReadingLog(load_unit), BALANCE: ReadingLog("g")}
        self._health: dict[str, Health] = {}
        self._exchanges: dict[str, list[_Listener]] = {LOAD: [], BALANCE: []}
        self._handed_over = 0
        self._made = self._make()

    async def __aenter__(self) -> Self:
        for instrument in self._made:
            instrument.start()
        return self

    async def __aexit__(self, *_: object) -> None:
        loop = asyncio.get_running_loop()
        await asyncio.gather(*(loop.run_in_executor(None, one.stop) for one in self._made))

    @property
    def rounds(self) -> int:
        """How often the thread of the load has come round."""
        return self._made[0].rounds

    @property
    def handed_over(self) -> int:
        """Readings of the load that its thread has handed over."""
        return self._handed_over

    def health(self) -> tuple[instrument_methods.InstrumentHealth, ...]:
        """How each is."""
        return tuple(
            instrument_methods.InstrumentHealth(
                name=health.name, kind=health.state, ok=health.ok, text=health.detail
            )
            for health in self._health.values()
        )

    def answer(self, handlers: Handlers) -> None:
        """Have the methods about instruments answered from here."""

        async def instruments(_: act.NoParams) -> instrument_methods.InstrumentsNow:
            return self.now()

        async def readings(
            wanted: instrument_methods.ReadingsParams,
        ) -> instrument_methods.Readings:
            return self.readings(wanted)

        handlers.on(instrument_methods.INSTRUMENTS, instruments)
        handlers.on(instrument_methods.READINGS, readings)
        handlers.on(instrument_methods.EXCHANGE, self.exchange)

    def now(self) -> instrument_methods.InstrumentsNow:
        """Each instrument live."""
        return instrument_methods.InstrumentsNow(instruments=tuple(map(self._one, self._made)))

    def readings(self, wanted: instrument_methods.ReadingsParams) -> instrument_methods.Readings:
        """The newest readings of one, or those after a time."""
        return self._logs[wanted.instrument].after(wanted.after_ns, wanted.limit)

    async def exchange(
        self, wanted: instrument_methods.ExchangeParams
    ) -> instrument_methods.Exchange:
        """Listen to the bytes of one for a time.

        Raises:
            CommandRefused: there is no such instrument, or it sends no bytes.
        """
        one = self._config.load if wanted.instrument == LOAD else self._config.balance
        if one is None or isinstance(one, BridgeConfig | IioConfig):
            what = "gives counts, no lines" if one else "is not on this bench"
            raise CommandRefused(f"the {wanted.instrument} {what}: there is nothing to record")
        listener = _Listener()
        self._exchanges[wanted.instrument].append(listener)
        try:
            await asyncio.sleep(wanted.seconds)
        finally:
            self._exchanges[wanted.instrument].remove(listener)
        shape = one.shape()
        return instrument_methods.Exchange(
            about=shape.about,
            profile=shape.name,
            unit=shape.bare_unit,
            rate=_rate(one.settings),
            parts=tuple(listener.parts),
            cut=listener.cut,
        )

    # --- inside ------------------------------------------------------------------------------

    def _make(self) -> list[Instrument]:
        loop = asyncio.get_running_loop()

        def in_loop(take: Callable[[T], None]) -> Callable[[T], None]:
            def hand_over(what: T) -> None:
                loop.call_soon_threadsafe(take, what)

            return hand_over

        def hand_over_load(reading: Reading) -> None:
            self._handed_over += 1
            loop.call_soon_threadsafe(self._take_load, reading, self._gauge.correct(reading))

        return make_instruments(
            self._config,
            self._clock,
            on_load=hand_over_load,
            on_mass=in_loop(self._take_mass),
            on_health=in_loop(self._take_health),
            load_scale=self._gauge.scale,
            on_bytes=self._take_bytes,
        )

    def _take_load(self, raw: Reading, corrected: Reading) -> None:
        self._logs[LOAD].take(raw, corrected)
        self._on_load(corrected)

    def _take_mass(self, reading: MassReading) -> None:
        self._logs[BALANCE].take(reading, reading)
        self._on_mass(reading)

    def _take_health(self, health: Health) -> None:
        level = logging.INFO if health.state in _FINE else logging.WARNING
        _log.log(level, "%s is %s: %s", health.name, health.state, health.detail)
        self._health[health.name] = health
        self._on_health()

    def _take_bytes(self, name: str, way: Way, data: bytes) -> None:
        """Take what passed a port, in that port's thread."""
        for listener in tuple(self._exchanges[name]):
            listener.take(way, data)

    def _one(self, instrument: Instrument) -> instrument_methods.InstrumentNow:
        name, now_ns = instrument.name, self._clock.now_ns()
        log, health = self._logs[name], instrument.health
        newest, figures = log.row, log.figures(now_ns)
        place = self._config.load.place
        certificate, unit = self._gauge.certificate, "lbf"
        if name == BALANCE and self._config.balance is not None:
            place, certificate, unit = self._config.balance.port, self._gauge.balance, "g"
        utc_ns = self._clock.utc_ns()
        return instrument_methods.InstrumentNow(
            name=name,
            place=place,
            state=health.state,
            ok=health.ok,
            text=health.detail,
            raw=log.text,
            value=newest.value if newest else None,
            unit=unit,
            quality=newest.quality if newest else "",
            rate_per_s=figures.rate_per_s,
            step=log.step,
            reading_unit=log.unit,
            noise=figures.noise,
            steady_pct=figures.steady_pct,
            age_s=None if newest is None else (now_ns - newest.t_ns) / NS_PER_S,
            calibration="; ".join((status(certificate, utc_ns), *self._gauge.troubles)),
            certificate=certificate.id if certificate else "",
            days_left=certificate.days_left(today(utc_ns)) if certificate else None,
            zero=self._gauge.zero_reading if certificate and name != BALANCE else None,
        )


class _Listener:
    """What passes a port while somebody listens; filled in the port's thread."""

    def __init__(self) -> None:
        self.parts: list[instrument_methods.ExchangedBytes] = []
        self.cut = False
        self._size = 0

    def take(self, way: Literal[">", "<"], data: bytes) -> None:
        """Keep bytes, until there are too many."""
        if self._size + len(data) > _MOST_BYTES:
            self.cut = True
            return
        self._size += len(data)
        self.parts.append(instrument_methods.ExchangedBytes(way=way, data=data))


def _rate(settings: PortSettings) -> str:
    return "" if "://" in settings.port else f"{settings.baud} {settings.framing}"
