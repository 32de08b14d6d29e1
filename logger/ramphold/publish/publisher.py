"""Sends the outbox to the laboratory's server. Only a receipt takes a record out of it.

The press never waits for any of this: the store answers between other work, paho has its own
thread, and whatever fails is reported and retried.
"""

import asyncio
import contextlib
import logging
import random
from collections import deque
from collections.abc import Callable
from typing import Protocol, TypeVar

from msgspec import UNSET, structs

from ramphold.clock import NS_PER_S, Clock
from ramphold.errors import ConfigError, StoreError, WireError
from ramphold.keys.signed_head import SignedHead
from ramphold.publish._receipt_keeper import ReceiptKeeper
from ramphold.publish._schedule import Schedule
from ramphold.publish._server_calendar import ServerCalendar
from ramphold.publish.broker_config import BrokerConfig
from ramphold.publish.mqtt import (
    BrokerConnection,
    BrokerEvent,
    LineDown,
    LineUp,
    MessageArrived,
    SendResult,
)
from ramphold.sample import ClockStamp, KeyChanged
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

T = TypeVar("T")

_STATE_EVERY_S = 1.0
_RETRY_S = 30.0
# More than the schedule has in flight, so that there is always a next one.
_LOOK_AHEAD = 64

_log = logging.getLogger(__name__)


class StoreWork(Protocol):
    """A store in its own thread."""

    async def run(self, work: Callable[[Store], T]) -> T:
        """Call `work` with the store; its result."""


class Publisher:
    """Sends the records and the state of a bench; `run` continues until it is cancelled.

    Args:
        bench: its name, as in the topics.
        config: the broker.
        store: where the records are.
        clock: the time.
        state: the present state of the bench, without what the publisher itself knows.

    Attributes:
        up: whether there is a line to the broker.
        text: the state of the line, or what is wrong.
        waiting, parked: number of records that wait for a receipt, and of refused ones.
    """

    def __init__(
        self,
        bench: str,
        config: BrokerConfig,
        store: StoreWork,
        clock: Clock,
        state: Callable[[], StateMessage],
    ) -> None:
        self.up, self.text = False, "not started"
        self.waiting = self.parked = 0
        self._bench, self._config, self._store = bench, config, store
        self._clock, self._state = clock, state
        self._schedule = Schedule(random.random)
        self._events: deque[BrokerEvent] = deque()
        self._woken = asyncio.Event()
        self._tokens: dict[int, int] = {}
        self._limit = 0
        self._series = ""
        self._published: tuple[StateMessage, int] | None = None
        self._receipts = ReceiptKeeper()
        self._calendar = ServerCalendar(clock)

    @property
    def calendar_off_s(self) -> float | None:
        """How far our calendar is ahead of the server's at least; None before a receipt."""
        return self._calendar.off_s

    @property
    def trouble(self) -> str:
        """What is wrong with the server's receipts; empty if nothing is."""
        return self._receipts.text

    def take_collector(
        self, store: Store, fingerprint: str, reason: str, by: str, utc_ns: int
    ) -> KeyChanged:
        """Keep the receipts of another collector from now on; as `ReceiptKeeper.accept`."""
        return self._receipts.accept(store, fingerprint, reason, by, utc_ns)

    def wake(self) -> None:
        """Look for something to send."""
        self._woken.set()

    async def run(self) -> None:
        """Send records until cancelled."""
        while True:
            try:
                await self._run_once()
            except (ConfigError, StoreError, WireError) as error:
                self.up, self.text = False, str(error)
                _log.warning("nothing is sent to the laboratory's server: %s", error)
            await asyncio.sleep(_RETRY_S)

    # --- inside ------------------------------------------------------------------------------

    async def _run_once(self) -> None:
        before = await self._store.run(lambda store: store.outbox.series())
        self._series = await self._store.run(lambda store: store.outbox.series_for(self._bench))
        if self._series != before:
            _log.warning("the bench has a new name: all records are sent again as %s", self._bench)
        connection = BrokerConnection(
            self._config,
            client_id=f"ramphold-{self._bench}-{self._series[:8]}",
            topics=(topic(self._bench, "receipt"),),
            on_event=self._on_event,
            last_will=(topic(self._bench, "state"), self._packed(StateMessage(online=False))),
        )
        connection.start()
        self.text = f"connecting to {self._config.host}"
        try:
            while True:
                await self._turn(connection)
        finally:
            if self._limit:
                self._publish_state(connection, StateMessage(online=False))
            self._forget_line()
            await connection.aclose()

    async def _turn(self, connection: BrokerConnection) -> None:
        """Wait for an event or a second, and do what is due."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(_STATE_EVERY_S):
                await self._woken.wait()
        self._woken.clear()
        while self._events:
            await self._handle(self._events.popleft())
        self._schedule.overdue(self._clock.now_ns())
        if self._limit:
            await self._send_waiting(connection)
        self.waiting, self.parked = await self._store.run(lambda store: store.outbox.depth())
        if self._limit:
            await self._publish_change(connection)

    async def _send_waiting(self, connection: BrokerConnection) -> None:
        waiting = await self._store.run(lambda store: store.outbox.waiting(limit=_LOOK_AHEAD))
        while (record := self._schedule.next(waiting)) is not None:
            if not await self._send(connection, record):
                return

    async def _send(self, connection: BrokerConnection, record: int) -> bool:
        """Send a record; False if there is no room for it now."""
        envelope = await self._store.run(lambda store: store.outbox.envelope(self._bench, record))
        try:
            # Encoding a long run takes tens of ms.
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

    async def _handle(self, event: BrokerEvent) -> None:
        match event:
            case LineUp(limit=limit):
                self._limit, self._published = limit, None
                self.up, self.text = True, f"linked to {self._config.host}"
                await self._store.run(lambda store: store.outbox.unpark())
            case LineDown(reason=reason):
                self._forget_line()
                self.up, self.text = False, f"no line to {self._config.host}: {reason}"
            case SendResult(token=token, refused=refused, unheard=unheard):
                record = self._tokens.pop(token, None)
                if refused is not None and record is not None:
                    await self._park(self._series, record, f"the broker refused it: {refused}")
                elif unheard and record is not None:
                    self._schedule.unheard(record, self._clock.now_ns())
            case MessageArrived():
                await self._handle_receipt(event)

    async def _handle_receipt(self, arrived: MessageArrived) -> None:
        try:
            bench_of(arrived.topic, "receipt")
            receipt = unpack_envelope(arrived.payload).message
        except WireError as error:
            _log.warning("a receipt cannot be read: %s", error)
            return
        if not isinstance(receipt, Receipt) or receipt.series != self._series:
            return
        if receipt.head is not None:
            self._receipts.take(receipt.head, receipt.key_changes)
            newest = receipt.head.count
            made = await self._store.run(lambda store: _made(store, newest))
            self._calendar.take(receipt.head.utc_ns, made)
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
        if not (receipt.taken or receipt.refused or receipt.head):
            # A server is back, or requests records: no receipt comes for what it missed.
            self._schedule.lost()
            if not receipt.wanted:
                # It may have been updated, and accept what it refused before.
                await self._store.run(lambda store: store.outbox.unpark())
        self._woken.set()

    async def _begin_series(self) -> None:
        """Send everything in a new series: the server has other records of these numbers."""
        self._series = await self._store.run(lambda store: store.outbox.begin_series(self._bench))
        self._schedule.lost()
        _log.warning(
            "the server has other records of these numbers, as if the database was restored from "
            "a copy: all are sent again as series %s",
            self._series,
        )
        self._woken.set()

    async def _park(self, series: str, record: int, reason: str) -> None:
        _log.warning("record %d is parked: %s", record, reason)
        await self._store.run(lambda store: store.outbox.park(series, record, reason[:500]))
        self._schedule.ended((record,))
        self._woken.set()

    async def _publish_change(self, connection: BrokerConnection) -> None:
        """Publish the state of the bench if it has changed, at most once a second."""
        now_ns = self._clock.now_ns()
        if self._published and now_ns - self._published[1] < _STATE_EVERY_S * NS_PER_S:
            return
        newest, head, receipt = await self._store.run(self._signed)
        state = structs.replace(
            self._state(),
            online=True,
            newest=newest,
            waiting=self.waiting,
            parked=self.parked,
            head=head,
            receipt=receipt,
        )
        if self._published and self._published[0] == state:
            return
        if self._publish_state(connection, state):
            self._published = state, now_ns

    def _signed(self, store: Store) -> tuple[int, SignedHead | None, SignedHead | None]:
        """The newest record, head and receipt; a receipt that has come is kept first."""
        self._receipts.save(store)
        return store.records.newest(), store.heads.newest(), store.heads.newest("receipt")

    def _publish_state(self, connection: BrokerConnection, state: StateMessage) -> bool:
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

    def _on_event(self, event: BrokerEvent) -> None:
        self._events.append(event)
        self._woken.set()

    def _forget_line(self) -> None:
        self._limit = 0
        self._tokens.clear()
        self._schedule.lost()


def _made(store: Store, record: int) -> ClockStamp | None:
    """When a record was made by the time of a boot; None if that is not known."""
    if record > store.records.newest():
        return None
    stamp = store.records.one(record).clock
    return None if stamp is UNSET else stamp
