"""A calendar is wrong where a receipt proves it, and only until it is set."""

import asyncio

import pytest

from ramphold.clock import NS_PER_S, ClockState
from ramphold.daemon._store_thread import StoreThread
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.signed_head import sign_head
from ramphold.publish.broker_config import BrokerConfig
from ramphold.publish.mqtt import MessageArrived
from ramphold.publish.publisher import Publisher
from ramphold.sample import ClockStamp
from ramphold.testing import ManualClock
from ramphold.wire import Envelope, Receipt, StateMessage, pack_envelope, topic
from support.specimens import add_specimen

SERVER_UTC_NS = 1_790_000_000 * NS_PER_S
DAY_S = 86_400
SIGNED_S = 6


class Bench:
    """A publisher with one record, made 5 s after the boot, and a clock that is off."""

    def __init__(self, store, boot, off_s):
        self.store, self.clock = store, ManualClock(utc_ns=SERVER_UTC_NS + off_s * NS_PER_S)
        self.clock.known = ClockState(boot=boot)
        self.publisher = Publisher(
            "press-1", BrokerConfig(host="x"), store, self.clock, lambda: StateMessage(online=True)
        )

    async def hears(self, came_s):
        """A receipt that came so many seconds after the boot."""
        self.clock.advance(came_s)
        series = await self.store.run(lambda store: store.outbox.series())
        root = await self.store.run(lambda store: store.heads.tree().root())
        utc_ns = SERVER_UTC_NS + SIGNED_S * NS_PER_S
        head = sign_head(SigningKey.generate(), "receipt", 1, root, utc_ns)
        message = Receipt(series=series, taken=(1,), head=head)
        envelope = Envelope(
            bench="press-1",
            series=series,
            number=0,
            utc_ns=utc_ns,
            subject="receipt",
            message=message,
        )
        self.publisher._series = series
        await self.publisher._handle_receipt(
            MessageArrived(
                topic=topic("press-1", "receipt"),
                payload=pack_envelope(envelope),
                ack=lambda: None,
            )
        )
        return self.publisher.calendar_off_s


def at_bench(tmp_path, test, boot="one", off_s=0):
    async def body():
        stamp = ClockStamp(boot="one", t_ns=5 * NS_PER_S, synchronised=False)
        store = await StoreThread.open(tmp_path / "runs.sqlite3", stamp=lambda: stamp)
        await store.run(add_specimen)
        bench = Bench(store, boot, off_s)
        assert bench.publisher.calendar_off_s is None
        await test(bench)
        await store.aclose()

    asyncio.run(body())


@pytest.mark.parametrize(
    ("off_s", "boot", "came_s", "found_s"),
    [
        (0, "one", 7, 0),
        (0, "one", 606, 0),  # the broker kept it for ten minutes
        (DAY_S, "one", 606, DAY_S - 1),
        (-DAY_S, "one", 7, 1 - DAY_S),
        (-DAY_S, "another", 7, 1 - DAY_S),
        (DAY_S, "another", 7, 0),  # when the record was made is not known by this boot
    ],
)
def test_a_calendar_is_off_by_what_a_receipt_proves(tmp_path, off_s, boot, came_s, found_s):
    async def test(bench):
        assert await bench.hears(came_s) == found_s

    at_bench(tmp_path, test, boot, off_s)


@pytest.mark.parametrize("off_s", [-3 * DAY_S, 3 * DAY_S])
def test_a_calendar_that_was_set_right_since_is_off_no_longer(tmp_path, off_s):
    async def test(bench):
        assert await bench.hears(7) != 0
        bench.clock.advance(60)
        bench.clock.set_calendar(SERVER_UTC_NS + 67 * NS_PER_S)
        assert bench.publisher.calendar_off_s == 0

    at_bench(tmp_path, test, off_s=off_s)
