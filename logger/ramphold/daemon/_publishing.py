"""The publisher as the daemon runs it: its failure never ends the daemon."""

import asyncio
import logging
from collections.abc import Callable
from typing import TYPE_CHECKING, NoReturn

from msgspec import structs

from ramphold import __version__
from ramphold.clock import Clock
from ramphold.control import act, publish_methods
from ramphold.control.handlers import Handlers
from ramphold.control.key_methods import TAKE_COLLECTOR, TakeCollectorParams
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.instruments import Instruments
from ramphold.daemon.press import PressService
from ramphold.errors import CommandRefused
from ramphold.sample import KeyChanged
from ramphold.trust import RECORDING, SERVER, TrustLevel, TrustPart
from ramphold.wire import StateMessage

if TYPE_CHECKING:
    from ramphold.publish.publisher import Publisher

_AFTER_A_BUG_S = 60

_log = logging.getLogger(__name__)


class PublishService:
    """Publishes the records to the laboratory's server, where the configuration names one."""

    def __init__(
        self,
        config: BenchConfig,
        store: StoreThread,
        clock: Clock,
        press: PressService,
        instruments: Instruments,
    ) -> None:
        self._store, self._press, self._instruments = store, press, instruments
        self._clock = clock
        self._publisher: Publisher | None = None
        self._trust = _nothing
        if config.publish is not None:
            self._publisher = _publisher_type()(
                config.bench, config.publish, store, clock, self._state
            )

    def tell_trust(self, trust: Callable[[], tuple[TrustPart, ...]]) -> None:
        """Tell the server, with our state, how far each part of the bench can be trusted."""
        self._trust = trust

    def wake(self) -> None:
        """Look for records to publish now."""
        if self._publisher is not None:
            self._publisher.wake()

    def state(self) -> tuple[bool | None, str]:
        """Whether the server is connected, None where none is named; and what is wrong with it."""
        known = self._publisher
        if known is None:
            return None, ""
        return known.up, known.trouble if known.up else known.text

    @property
    def calendar_off_s(self) -> float | None:
        """How far our calendar is ahead of the server's at least; None before a receipt."""
        return self._publisher.calendar_off_s if self._publisher else None

    async def run(self) -> NoReturn:
        """Publish for ever."""
        while True:
            if self._publisher is None:
                await asyncio.Event().wait()
                continue
            try:
                await self._publisher.run()
            except Exception:  # noqa: BLE001 - see below
                # Whatever fails here, the press goes on.
                self._publisher.up, self._publisher.text = False, "failed: see the daemon's log"
                _log.exception("publishing failed: it starts again in a minute")
            await asyncio.sleep(_AFTER_A_BUG_S)

    def answer(self, handlers: Handlers) -> None:
        """Answer the methods about publishing."""
        handlers.on(publish_methods.PUBLISHING, self._publishing)
        handlers.on(publish_methods.PUBLISH_AGAIN, self._again)
        handlers.on(TAKE_COLLECTOR, self._take_collector)

    async def _publishing(self, _: act.NoParams) -> publish_methods.Publishing:
        parked = await self._store.run(lambda store: store.outbox.parked())
        waiting, _parked = await self._store.run(lambda store: store.outbox.depth())
        known = self._publisher
        return publish_methods.Publishing(
            up=known.up if known else None,
            text="; ".join(filter(None, (known.text, known.trouble)))
            if known
            else "no server is named: bench.toml has no [publish]",
            waiting=waiting,
            parked=tuple(
                publish_methods.Parked(record=record, reason=reason) for record, reason in parked
            ),
        )

    async def _again(self, params: act.NoParams) -> publish_methods.Publishing:
        await self._store.run(lambda store: store.outbox.unpark())
        self.wake()
        return await self._publishing(params)

    async def _take_collector(self, params: TakeCollectorParams) -> KeyChanged:
        if (publisher := self._publisher) is None:
            raise CommandRefused("no server is named: bench.toml has no [publish]")
        utc_ns = self._clock.utc_ns()
        return await self._store.run(
            lambda store: publisher.take_collector(
                store, params.fingerprint, params.reason, params.operator, utc_ns
            )
        )

    def _state(self) -> StateMessage:
        live = self._press.live
        snapshot = self._press.snapshot().snapshot if live else None
        troubles = (one.text[:500] for one in self._instruments.health() if not one.ok)
        return StateMessage(
            online=True,
            version=__version__,
            run=str(snapshot.state) if snapshot else None,
            stress_psi=_whole(snapshot.stress_psi if snapshot else None),
            target_psi=snapshot.target_psi if snapshot else None,
            hold_s=_whole(snapshot.hold_s if snapshot else None),
            trust=tuple(map(_steady, self._trust())),
            troubles=tuple(troubles),
        )


def _publisher_type() -> "type[Publisher]":
    # MQTT takes 2 MB, which a bench without a server saves.
    from ramphold.publish.publisher import Publisher  # noqa: PLC0415

    return Publisher


def _nothing() -> tuple[TrustPart, ...]:
    return ()


def _whole(value: float | None) -> float | None:
    """Rounded: a state is sent when it changes, and noise is no change."""
    return None if value is None else float(round(value))


def _steady(part: TrustPart) -> TrustPart:
    """A part without words that change every second while all is well."""
    passing = part.name in (RECORDING, SERVER) and part.level is TrustLevel.WELL
    return structs.replace(part, text="" if passing else part.text[:500])
