"""The collector: from the broker into the archive. Commit first, then receipts, then acknowledge.

Whatever fails, an unfiled record gets no receipt, so its bench sends it again. An unfiled message
is not acknowledged, but for the surplus of a noisy bench. Nothing that arrives is read in this
process.
"""

import asyncio
import contextlib
import logging
import os
import signal
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import TypeVar

from ramphold.clock import NS_PER_S, Clock
from ramphold.collector._archive_thread import ArchiveThread
from ramphold.collector._archive_writing import forget_parts
from ramphold.collector._filed_trees import FiledTrees, collector_changes, collector_key
from ramphold.collector._gap_requests import GapRequests, Ranges
from ramphold.collector._intake import Intake
from ramphold.collector._message_filing import FiledMessages, Receipts, file_messages
from ramphold.collector._quarantine_retry import file_retried
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import Archive, BenchSeries
from ramphold.collector.archive_quarantine import count_dropped, known_poison, to_retry
from ramphold.collector.archive_status import doubled
from ramphold.collector.config import CollectConfig
from ramphold.errors import StoreError, WireError
from ramphold.notify import Notifier
from ramphold.publish.mqtt import (
    BrokerConnection,
    BrokerEvent,
    LineDown,
    LineUp,
    MessageArrived,
    SendResult,
)
from ramphold.wire import Envelope, Receipt, pack_envelope, topic

T = TypeVar("T")

_log = logging.getLogger("ramphold.collector")

_RETRIED_AT_A_TIME = 20
# After this long without a message there is time for other work.
_QUIET_S = 0.2
_FED_S = 1.0
_DAY_NS = 86_400 * NS_PER_S
_PARTS_KEPT_DAYS = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How often things are done, in s.

    Attributes:
        look_s: how often the archive is searched for gaps.
        gap_s: how long a gap must last before it is requested.
        first_wait_s, longest_wait_s: between two tries while the archive cannot be used.
    """

    look_s: float = 5.0
    gap_s: float = 10.0
    first_wait_s: float = 1.0
    longest_wait_s: float = 30.0


class Collector:
    """Files what the benches send; `run` continues until it is cancelled.

    Args:
        config: the broker and the archive.
        clock: the time.
        notifier: the service manager.
        pace: how often things are done.

    Attributes:
        filed: number of records for which a receipt was sent.
    """

    def __init__(
        self, config: CollectConfig, clock: Clock, notifier: Notifier, pace: Pace | None = None
    ) -> None:
        self.filed = 0
        self._config, self._clock, self._notifier = config, clock, notifier
        self._pace = pace or Pace()
        self._archive = ArchiveThread(config.archive)
        self._requests = GapRequests(self._pace.gap_s)
        self._intake = Intake()
        self._woken = asyncio.Event()
        self._greeted = False
        self._doubled: set[str] = set()
        self._trees = FiledTrees(collector_key(config, clock.utc_ns()), collector_changes(config))
        self._retried: int | None = 0
        self._looked_ns = self._fed_ns = 0

    async def run(self) -> None:
        """Collect until cancelled.

        Raises:
            ConfigError: a file that the configuration names cannot be used.
        """
        shared = self._config.shared
        records, states = "ramphold/1/+/record", "ramphold/1/+/state"
        connection = BrokerConnection(
            self._config.broker,
            client_id=f"ramphold-{self._config.name}",
            topics=(f"$share/{shared}/{records}" if shared else records, states),
            # Benches retain their state only: a record that somebody else retained is not wanted.
            retained=(states,),
            on_event=self._on_event,
            manual_ack=True,
            persistent=not shared,
        )
        try:
            connection.start()
            self._intake.start()
            self._notifier.ready()
            self._intake.know(
                await self._in_archive(lambda archive: known_poison(archive.database))
            )
            while True:
                await self._turn(connection)
        finally:
            await connection.aclose()
            await self._intake.aclose()
            await self._archive.aclose()

    # --- one turn --------------------------------------------------------------------------------

    async def _turn(self, connection: BrokerConnection) -> None:
        """File what has arrived; do the rest while nothing arrives."""
        if self._retried is not None:
            await self._retry_quarantine(connection, self._retried)
        elif not self._intake and not await self._wait(_QUIET_S):
            await self._work_out()
        self._feed_watchdog()
        await self._file(connection)
        if self._clock.now_ns() - self._looked_ns >= self._pace.look_s * NS_PER_S:
            await self._look_for_gaps(connection)
            # If it is never quiet, results come slowly.
            await self._in_archive(work_out)
            self._looked_ns = self._clock.now_ns()

    async def _work_out(self) -> None:
        """Work out samples one by one until something arrives."""
        while not self._intake:
            worked_out: int = await self._in_archive(work_out)
            self._feed_watchdog()
            if not worked_out:
                await self._wait(self._pace.look_s)
                return

    async def _wait(self, longest_s: float) -> bool:
        """Wait for an event; whether one came in time."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(longest_s):
                await self._woken.wait()
        woken = self._woken.is_set()
        self._woken.clear()
        return woken

    async def _file(self, connection: BrokerConnection) -> None:
        if not self._intake.begin():
            return
        batch = await self._fed(self._intake.checked())
        if not batch.messages:
            # The checking process was killed, or cannot be started.
            await asyncio.sleep(self._pace.first_wait_s)
        # The next batch is checked while this one is filed.
        self._intake.begin()
        dropped = self._intake.take_dropped()
        utc_ns = self._clock.utc_ns()

        def file(archive: Archive) -> FiledMessages:
            count_dropped(archive, dropped, utc_ns)
            dropped.clear()
            return file_messages(archive, batch.messages, utc_ns)

        filed = await self._in_archive(file)
        await self._send_receipts(connection, filed.receipts)
        self._intake.acknowledge(batch)
        self._intake.add_joined(filed.joined)

    async def _retry_quarantine(self, connection: BrokerConnection, after: int) -> None:
        """Check again a few messages that were refused before this program was started."""
        messages = await self._in_archive(
            lambda archive: to_retry(archive.database, after, _RETRIED_AT_A_TIME)
        )
        checked = await self._fed(self._intake.check_again([one[1:] for one in messages]))
        utc_ns = self._clock.utc_ns()
        numbers = [one[0] for one in messages[: len(checked)]]
        receipts = await self._in_archive(
            lambda archive: file_retried(archive, zip(numbers, checked, strict=True), utc_ns)
        )
        # Without an answer the same are checked again; one that was poison is known now.
        self._retried = None if not messages else numbers[-1] if numbers else after
        for (bench, _), receipt in receipts.items():
            _log.info("%s: %d records, refused before, are filed", bench, len(receipt.taken))
        await self._send_receipts(connection, receipts)

    async def _look_for_gaps(self, connection: BrokerConnection) -> None:
        """Request missing records, warn of benches that share a name, forget old parts."""
        utc_ns = self._clock.utc_ns()

        def looked(archive: Archive) -> list[tuple[BenchSeries, list[tuple[int, int]]]]:
            forget_parts(archive.database, utc_ns - _PARTS_KEPT_DAYS * _DAY_NS)
            benches = archive.benches()
            with archive.transaction():
                self._trees.take_all(archive.database, benches, utc_ns)
            return [(one, archive.gaps(one)) for one in benches if one.in_force]

        benches = await self._in_archive(looked)
        now_s = self._clock.now_ns() / NS_PER_S
        for bench, missing in benches:
            wanted = self._requests.due(bench.series, missing, now_s)
            if wanted:
                _log.info("%s: %d missing records are requested", bench.bench, _count(wanted))
            if wanted or not self._greeted:
                self._send(connection, bench.bench, Receipt(series=bench.series, wanted=wanted))
        self._greeted = True
        names = doubled([bench for bench, _ in benches])
        for name in sorted(names - self._doubled):
            _log.warning("two benches are called %s: give one of them another name", name)
        self._doubled = names

    async def _in_archive(self, work: Callable[[Archive], T]) -> T:
        """The result of work in the archive; retried until it succeeds, nothing acknowledged."""
        wait_s = 0.0
        while True:
            try:
                done = await self._fed(self._archive.run(work))
            except (StoreError, WireError) as error:
                wait_s = min(max(2 * wait_s, self._pace.first_wait_s), self._pace.longest_wait_s)
                _log.warning("nothing is filed, next try in %g s: %s", wait_s, error)
                self._notifier.status(f"nothing is filed: {error}")
                self._feed_watchdog()
                await asyncio.sleep(wait_s)
                continue
            if wait_s:
                _log.info("the archive is back")
                self._notifier.status("")
                # Benches that waited learn that records are filed again.
                self._greeted, self._looked_ns = False, 0
            return done

    # --- inside ----------------------------------------------------------------------------------

    async def _send_receipts(self, connection: BrokerConnection, receipts: Receipts) -> None:
        utc_ns = self._clock.utc_ns()
        signed = await self._in_archive(
            lambda archive: self._trees.sign(archive.database, receipts, utc_ns)
        )
        for (bench, _), receipt in signed.items():
            self.filed += len(receipt.taken)
            self._send(connection, bench, receipt)

    def _send(self, connection: BrokerConnection, bench: str, receipt: Receipt) -> None:
        envelope = Envelope(
            bench=bench,
            series=receipt.series,
            number=0,
            utc_ns=self._clock.utc_ns(),
            subject="receipt",
            message=receipt,
        )
        # Without a line the receipt is lost, and the bench sends its records again.
        connection.send(topic(bench, "receipt"), pack_envelope(envelope))

    def _on_event(self, event: BrokerEvent) -> None:
        match event:
            case MessageArrived():
                self._intake.add(event)
            case LineUp():
                _log.info("linked to %s", self._config.broker.host)
                self._greeted, self._looked_ns = False, 0
            case LineDown(reason=reason):
                _log.warning("no line to %s: %s", self._config.broker.host, reason)
                self._intake.line_down()
            case SendResult(refused=refused):
                if refused:
                    _log.warning("the broker refused a receipt: %s", refused)
        self._woken.set()

    async def _fed(self, work: Awaitable[T]) -> T:
        """The result of some work; the watchdog is fed meanwhile."""
        working = asyncio.ensure_future(work)
        try:
            while not working.done():
                await asyncio.wait({working}, timeout=_FED_S)
                self._feed_watchdog()
        except asyncio.CancelledError:
            working.cancel()
            raise
        return working.result()

    def _feed_watchdog(self) -> None:
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


def _count(ranges: Ranges) -> int:
    return sum(last - first + 1 for first, last in ranges)
