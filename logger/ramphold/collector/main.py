"""The collector: from the broker into the archive. Commit first, then receipts, then acknowledge.

Whatever fails, a message that was not filed is not acknowledged, and a record that was not filed
gets no receipt: its bench sends it again.
"""

import asyncio
import contextlib
import logging
import os
import signal
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from ramphold.clock import NS_PER_S, Clock
from ramphold.collector._archive import Archive, Bench
from ramphold.collector._archive_thread import ArchiveThread
from ramphold.collector._arrivals import Arrival
from ramphold.collector._checking import Checker
from ramphold.collector._filing import Message, file_messages
from ramphold.collector._results import work_out
from ramphold.collector._review import review
from ramphold.collector._status import doubled
from ramphold.collector._wanted import Wanted
from ramphold.collector.config import CollectConfig
from ramphold.errors import StoreError, WireError
from ramphold.notify import Notifier
from ramphold.publish.mqtt import Arrived, Connection, Down, Heard, Said, Up
from ramphold.wire import Envelope, Receipt, pack_envelope, topic

__all__ = ["Collector", "Pace", "run"]

T = TypeVar("T")

_log = logging.getLogger("ramphold.collector")

_BATCH = 200
# After so long without a message there is time for other work.
_QUIET_S = 0.2
_DAY_NS = 86_400 * NS_PER_S
_PARTS_KEPT_DAYS = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How often things are done, in s.

    Attributes:
        look_s: how often the archive is looked over for what is missing.
        stands_s: how long a gap must stand before it is asked for.
        first_wait_s, most_wait_s: between two tries where the archive can't be used.
    """

    look_s: float = 5.0
    stands_s: float = 10.0
    first_wait_s: float = 1.0
    most_wait_s: float = 30.0


@dataclass(frozen=True, slots=True)
class _Batch:
    """Messages of one line to the broker, and what they come to, in time."""

    line: int
    arrived: list[Arrived]
    checked: asyncio.Future[list[Arrival]]


class Collector:
    """Files what the benches send; `run` goes on until it is cancelled.

    Args:
        config: the broker and the archive.
        clock: the time.
        notifier: the service manager.
        pace: how often things are done.

    Attributes:
        filed: how many records were said to be filed.
    """

    def __init__(
        self, config: CollectConfig, clock: Clock, notifier: Notifier, pace: Pace | None = None
    ) -> None:
        self.filed = 0
        self._config, self._clock, self._notifier = config, clock, notifier
        self._pace = pace or Pace()
        self._archive = ArchiveThread(config.archive)
        self._wanted = Wanted(self._pace.stands_s)
        self._checker = Checker()
        self._arrived: deque[Arrived] = deque()
        self._batch: _Batch | None = None
        self._woken = asyncio.Event()
        self._line = 0
        self._greeted = False
        self._doubled: set[str] = set()
        self._reviewed: int | None = 0
        self._looked_ns = self._fed_ns = 0

    async def run(self) -> None:
        """Collect, as long as nobody cancels it.

        Raises:
            ConfigError: a file that the configuration names is not as it must be.
        """
        records = "ramphold/1/+/record"
        connection = Connection(
            self._config.broker,
            name=f"ramphold-{self._config.name}",
            topics=(
                f"$share/ramphold/{records}" if self._config.shared else records,
                "ramphold/1/+/state",
            ),
            hear=self._hear,
            by_hand=True,
            lasting=not self._config.shared,
        )
        try:
            connection.start()
            self._checker.start()
            self._notifier.ready()
            while True:
                await self._turn(connection)
        finally:
            await connection.aclose()
            await self._checker.aclose()
            await self._archive.aclose()

    # --- one turn --------------------------------------------------------------------------------

    async def _turn(self, connection: Connection) -> None:
        """File what has arrived; look after the rest while nothing does."""
        if self._reviewed is not None:
            await self._review(connection, self._reviewed)
        elif not self._arrived and not self._batch and not await self._wait(_QUIET_S):
            await self._work_out()
        self._feed()
        await self._file(connection)
        if self._clock.now_ns() - self._looked_ns >= self._pace.look_s * NS_PER_S:
            await self._look(connection)
            # Where it is never quiet, results come slowly.
            await self._held(work_out)
            self._looked_ns = self._clock.now_ns()

    async def _work_out(self) -> None:
        """Work out samples one by one until something arrives, or wait for that."""
        while not self._arrived:
            worked_out: int = await self._held(work_out)
            self._feed()
            if not worked_out:
                await self._wait(self._pace.look_s)
                return

    async def _wait(self, most_s: float) -> bool:
        """Whether anything happened within a time."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(most_s):
                await self._woken.wait()
        woken = self._woken.is_set()
        self._woken.clear()
        return woken

    async def _file(self, connection: Connection) -> None:
        batch = self._batch or self._begun()
        if batch is None:
            return
        checked = await batch.checked
        # The next is checked while this one is filed.
        self._batch = self._begun()
        messages = [
            Message(one.topic, one.payload, arrival)
            for one, arrival in zip(batch.arrived, checked, strict=True)
        ]
        utc_ns = self._clock.utc_ns()
        receipts = await self._held(lambda archive: file_messages(archive, messages, utc_ns))
        for (bench, _), receipt in receipts.items():
            self.filed += len(receipt.taken)
            self._tell(connection, bench, receipt)
        # On another line the broker sends them again, and these numbers are no longer theirs.
        for one in batch.arrived:
            if batch.line == self._line:
                one.ack()

    def _begun(self) -> _Batch | None:
        """What has arrived, being checked."""
        arrived = [self._arrived.popleft() for _ in range(min(_BATCH, len(self._arrived)))]
        if not arrived:
            return None
        checked = self._checker.check([(one.topic, one.payload) for one in arrived])
        return _Batch(self._line, arrived, checked)

    async def _review(self, connection: Connection, after: int) -> None:
        """Look once more at some of what was refused before this program was started."""
        utc_ns = self._clock.utc_ns()
        self._reviewed, receipts = await self._held(lambda archive: review(archive, after, utc_ns))
        for (bench, _), receipt in receipts.items():
            _log.info("%s: %d records, once refused, are filed", bench, len(receipt.taken))
            self.filed += len(receipt.taken)
            self._tell(connection, bench, receipt)

    async def _look(self, connection: Connection) -> None:
        """Ask for what is missing; tell of benches with one name; forget old parts."""
        utc_ns = self._clock.utc_ns()

        def looked(archive: Archive) -> list[tuple[Bench, list[tuple[int, int]]]]:
            archive.forget_parts(utc_ns - _PARTS_KEPT_DAYS * _DAY_NS)
            return [(one, archive.gaps(one)) for one in archive.benches() if one.in_force]

        benches = await self._held(looked)
        now_s = self._clock.now_ns() / NS_PER_S
        for bench, missing in benches:
            wanted = self._wanted.due(bench.series, missing, now_s)
            if wanted:
                _log.info("%s: %d records are missing, asked for", bench.bench, _count(wanted))
            if wanted or not self._greeted:
                self._tell(connection, bench.bench, Receipt(series=bench.series, wanted=wanted))
        self._greeted = True
        names = doubled([bench for bench, _ in benches])
        for name in sorted(names - self._doubled):
            _log.warning("two benches are called %s: give one of them another name", name)
        self._doubled = names

    async def _held(self, work: Callable[[Archive], T]) -> T:
        """What the archive gives; tried again until it does, while nothing is acknowledged."""
        wait_s = 0.0
        while True:
            try:
                done = await self._archive.run(work)
            except (StoreError, WireError) as error:
                wait_s = min(max(2 * wait_s, self._pace.first_wait_s), self._pace.most_wait_s)
                _log.warning("nothing is filed, tried again in %g s: %s", wait_s, error)
                self._notifier.status(f"nothing is filed: {error}")
                self._feed()
                await asyncio.sleep(wait_s)
                continue
            if wait_s:
                _log.info("the archive is there again")
                self._notifier.status("")
                # Benches that waited are told that somebody files again.
                self._greeted, self._looked_ns = False, 0
            return done

    # --- inside ----------------------------------------------------------------------------------

    def _tell(self, connection: Connection, bench: str, receipt: Receipt) -> None:
        envelope = Envelope(
            bench=bench,
            series=receipt.series,
            number=0,
            utc_ns=self._clock.utc_ns(),
            subject="receipt",
            message=receipt,
        )
        # Without a line it is lost, and the bench sends again.
        connection.send(topic(bench, "receipt"), pack_envelope(envelope))

    def _hear(self, heard: Heard) -> None:
        match heard:
            case Arrived():
                self._arrived.append(heard)
            case Up():
                _log.info("linked to %s", self._config.broker.host)
                self._line += 1
                self._greeted, self._looked_ns = False, 0
            case Down(reason=reason):
                _log.warning("no line to %s: %s", self._config.broker.host, reason)
                self._line += 1
                self._arrived.clear()
            case Said(refused=refused):
                if refused:
                    _log.warning("the broker refused a receipt: %s", refused)
        self._woken.set()

    def _feed(self) -> None:
        every_s, now_ns = self._notifier.feed_every_s, self._clock.now_ns()
        if every_s is not None and now_ns - self._fed_ns >= every_s * NS_PER_S:
            self._notifier.alive()
            self._fed_ns = now_ns


async def run(config: CollectConfig, clock: Clock) -> None:
    """Collect until SIGTERM or SIGINT."""
    stop = asyncio.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(number, stop.set)
    notifier = Notifier.from_environ(os.environ, os.getpid())
    collecting = asyncio.create_task(Collector(config, clock, notifier).run())
    stopping = asyncio.create_task(stop.wait())
    await asyncio.wait({collecting, stopping}, return_when=asyncio.FIRST_COMPLETED)
    notifier.stopping()
    for task in (stopping, collecting):
        task.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await collecting


def _count(ranges: tuple[tuple[int, int], ...]) -> int:
    return sum(last - first + 1 for first, last in ranges)
