"""From the outbox to the laboratory's server: what waits is sent, and a receipt ends it.

Nothing of it holds up the press: the store answers between other work, paho has a thread of its
own, and whatever fails is said and tried again.
"""

import asyncio
import contextlib
import logging
import random
from collections import deque
from collections.abc import Callable
from typing import Protocol, TypeVar

from ramphold.clock import NS_PER_S, Clock
from ramphold.errors import ConfigError, StoreError, WireError
from ramphold.publish._schedule import Schedule
from ramphold.publish.broker_config import BrokerConfig
from ramphold.publish.mqtt import Arrived, Connection, Down, Heard, Said, Up
from ramphold.store import Store
from ramphold.wire import (
    Envelope,
    Receipt,
    StateMessage,
    bench_of,
    cut,
    pack_envelope,
    topic,
    unpack_envelope,
)

__all__ = ["Publisher", "StoreWork"]

T = TypeVar("T")

_STATE_EVERY_S = 1.0
_TRY_AGAIN_S = 30.0
# More than the schedule ever has on its way, so that those behind are seen too.
_LOOK_AHEAD = 64

_log = logging.getLogger(__name__)


class StoreWork(Protocol):
    """A store in a thread of its own."""

    async def run(self, work: Callable[[Store], T]) -> T:
        """What `work` returns when called with the store."""


class Publisher:
    """Sends a bench's records and its state; `run` goes on until it is cancelled.

    Args:
        bench: its name, which stands in topics.
        config: the broker.
        store: where the records are.
        clock: the time.
        state: how the bench is now, but for what the publisher itself knows.

    Attributes:
        up: whether there is a line to the broker.
        text: what is so, or what is wrong.
        waiting, parked: how many records wait for a receipt; how many were refused.
    """

    def __init__(
        self,
        bench: str,
        config: BrokerConfig,
        store: StoreWork,
        clock: Clock,
        state: Callable[[], StateMessage],
    ) -> None:
        self.up, self.text = False, "not begun"
        self.waiting = self.parked = 0
        self._bench, self._config, self._store = bench, config, store
        self._clock, self._state = clock, state
        self._schedule = Schedule(random.random)
        self._heard: deque[Heard] = deque()
        self._woken = asyncio.Event()
        self._tokens: dict[int, int] = {}
        self._limit = 0
        self._series = ""
        self._told: tuple[StateMessage, int] | None = None

    def wake(self) -> None:
        """There may be something to send."""
        self._woken.set()

    async def run(self) -> None:
        """Send what waits, as long as nobody cancels it."""
        while True:
            try:
                await self._run_once()
            except (ConfigError, StoreError, WireError) as error:
                self.up, self.text = False, str(error)
                _log.warning("not sent to the laboratory's server: %s", error)
            await asyncio.sleep(_TRY_AGAIN_S)

    # --- inside ------------------------------------------------------------------------------

    async def _run_once(self) -> None:
        before = await self._store.run(lambda store: store.outbox.series())
        self._series = await self._store.run(lambda store: store.outbox.series_for(self._bench))
        if self._series != before:
            _log.warning("the bench has another name: all is sent again as %s", self._bench)
        connection = Connection(
            self._config,
            name=f"ramphold-{self._bench}-{self._series[:8]}",
            topics=(topic(self._bench, "receipt"),),
            hear=self._hear,
            last_will=(topic(self._bench, "state"), self._packed(StateMessage(online=False))),
        )
        connection.start()
        self.text = f"reaching {self._config.host}"
        try:
            while True:
                await self._turn(connection)
        finally:
            if self._limit:
                self._tell_state(connection, StateMessage(online=False))
            self._forget_line()
            await connection.aclose()

    async def _turn(self, connection: Connection) -> None:
        """Wait for something to do, and do it."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(_STATE_EVERY_S):
                await self._woken.wait()
        self._woken.clear()
        while self._heard:
            await self._take(self._heard.popleft())
        self._schedule.overdue(self._clock.now_ns())
        if self._limit:
            await self._send_waiting(connection)
        self.waiting, self.parked = await self._store.run(lambda store: store.outbox.depth())
        if self._limit:
            await self._tell_change(connection)

    async def _send_waiting(self, connection: Connection) -> None:
        waiting = await self._store.run(lambda store: store.outbox.waiting(limit=_LOOK_AHEAD))
        while (record := self._schedule.next(waiting)) is not None:
            if not await self._send(connection, record):
                return

    async def _send(self, connection: Connection, record: int) -> bool:
        """Send a record; False where there is no room for it now."""
        envelope = await self._store.run(lambda store: store.outbox.envelope(self._bench, record))
        try:
            # A run of minutes takes tens of ms to encode.
            packets = await asyncio.to_thread(cut, envelope, self._limit)
        except WireError as error:
            await self._park(envelope.series, record, str(error))
            return True
        for packet in packets:
            token = connection.send(topic(self._bench, "record"), packet)
            if token is None:
                return False
            self._tokens[token] = record
        self._schedule.sent(record, sum(map(len, packets)), self._clock.now_ns())
        return True

    async def _take(self, heard: Heard) -> None:
        match heard:
            case Up(limit=limit):
                self._limit, self._told = limit, None
                self.up, self.text = True, f"linked to {self._config.host}"
                await self._store.run(lambda store: store.outbox.unpark())
            case Down(reason=reason):
                self._forget_line()
                self.up, self.text = False, f"no line to {self._config.host}: {reason}"
            case Said(token=token, refused=refused, unheard=unheard):
                record = self._tokens.pop(token, None)
                if refused is not None and record is not None:
                    await self._park(self._series, record, f"the broker refused it: {refused}")
                elif unheard and record is not None:
                    self._schedule.unheard(record, self._clock.now_ns())
            case Arrived():
                await self._take_receipt(heard)

    async def _take_receipt(self, arrived: Arrived) -> None:
        try:
            bench_of(arrived.topic, "receipt")
            receipt = unpack_envelope(arrived.payload).message
        except WireError as error:
            _log.warning("a receipt that can't be read: %s", error)
            return
        if not isinstance(receipt, Receipt) or receipt.series != self._series:
            return
        if any(one.code == "fork" for one in receipt.refused):
            await self._begin_series()
            return
        await self._store.run(lambda store: store.outbox.taken(receipt.series, receipt.taken))
        self._schedule.ended(receipt.taken)
        for one in receipt.refused:
            await self._park(receipt.series, one.record, f"the server refused it: {one.reason}")
        if receipt.wanted:
            await self._store.run(
                lambda store: store.outbox.requeue(receipt.series, receipt.wanted)
            )
        if not (receipt.taken or receipt.refused):
            # A server that was away is back, or asks: what it missed is not waited for.
            self._schedule.lost()
            if not receipt.wanted:
                # It may have been brought up to date, and take what it refused.
                await self._store.run(lambda store: store.outbox.unpark())
        self._woken.set()

    async def _begin_series(self) -> None:
        """The server knows other records by these numbers: send all under another name."""
        self._series = await self._store.run(lambda store: store.outbox.begin_series(self._bench))
        self._schedule.lost()
        _log.warning(
            "the server has other records of these numbers, as after a database was restored "
            "from a copy: all are sent again as series %s",
            self._series,
        )
        self._woken.set()

    async def _park(self, series: str, record: int, reason: str) -> None:
        _log.warning("record %d is parked: %s", record, reason)
        await self._store.run(lambda store: store.outbox.park(series, record, reason[:500]))
        self._schedule.ended((record,))
        self._woken.set()

    async def _tell_change(self, connection: Connection) -> None:
        """Tell how the bench is, where it changed, and not more than once a second."""
        newest = await self._store.run(lambda store: store.records.newest())
        state = self._whole_state(newest)
        now_ns = self._clock.now_ns()
        if self._told is not None:
            told, told_ns = self._told
            if told == state or now_ns - told_ns < _STATE_EVERY_S * NS_PER_S:
                return
        if self._tell_state(connection, state):
            self._told = state, now_ns

    def _whole_state(self, newest: int) -> StateMessage:
        known = self._state()
        return StateMessage(
            online=True,
            version=known.version,
            newest=newest,
            waiting=self.waiting,
            parked=self.parked,
            run=known.run,
            troubles=known.troubles,
        )

    def _tell_state(self, connection: Connection, state: StateMessage) -> bool:
        token = connection.send(topic(self._bench, "state"), self._packed(state), retain=True)
        return token is not None

    def _packed(self, state: StateMessage) -> bytes:
        return pack_envelope(
            Envelope(
                bench=self._bench,
                series=self._series,
                number=0,
                utc_ns=self._clock.utc_ns(),
                subject="state",
                message=state,
            )
        )

    def _hear(self, heard: Heard) -> None:
        self._heard.append(heard)
        self._woken.set()

    def _forget_line(self) -> None:
        self._limit = 0
        self._tokens.clear()
        self._schedule.lost()
