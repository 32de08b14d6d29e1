"""A bench's records go through a real broker to a server's receipts; the press never waits."""

import asyncio
import signal
import time

import pytest

from ramphold.clock import SystemClock
from ramphold.daemon._store_thread import StoreThread
from ramphold.method.gravimetric import Material
from ramphold.publish.broker_config import BrokerConfig
from ramphold.publish.publisher import Publisher
from ramphold.sample import SampleReceived, ValueEntered
from ramphold.wire import (
    Envelope,
    Receipt,
    RefusedRecord,
    StateMessage,
    join,
    pack_envelope,
    unpack_envelope,
)
from support.peer import Peer

RECEIVED = SampleReceived(
    operator="KL", utc_ns=1_000, laboratory_number="26-0417", client_reference="pit 3",
    material=Material.SAND, size="20/40", edition="ISO 13503-2:2024",
)  # fmt: skip
TURBIDITY = ValueEntered(sample=1, operator="KL", utc_ns=2_000, what="turbidity", value=60.0)
PATIENCE_S = 10


def how_it_is():
    return StateMessage(online=True)


class Bench:
    """A publisher with a sample of three records in its store, and a peer that plays the server."""

    def __init__(self, tmp_path, broker, user="press-1"):
        self.path = tmp_path / "bench.sqlite"
        self.account = broker.account(user)
        self.server = broker.account("collector")
        self.port = broker.port

    def config(self, **otherwise):
        named = {name: str(value) for name, value in vars(self.account).items()}
        return BrokerConfig(host="localhost", port=self.port, **(named | otherwise))

    async def run(self, play, bench="press-1", **otherwise):
        """Run `play(store, publisher)` while the bench publishes."""
        store = await StoreThread.open(self.path)
        try:
            if not await store.run(lambda store: store.records.newest()):
                await store.run(lambda kept: kept.samples.add(RECEIVED))
                await store.run(lambda kept: kept.records.append(TURBIDITY))
                await store.run(lambda kept: kept.records.append(TURBIDITY))
            publisher = Publisher(
                bench,
                self.config(**otherwise),
                store,
                SystemClock(),
                lambda: StateMessage(online=True),
            )
            task = asyncio.create_task(publisher.run())
            try:
                return await play(store, publisher)
            finally:
                task.cancel()
                await asyncio.gather(task, return_exceptions=True)
        finally:
            await store.aclose()


@pytest.fixture
def bench(tmp_path, broker):
    return Bench(tmp_path, broker)


async def until(true):
    for _ in range(PATIENCE_S * 50):
        if true():
            return
        await asyncio.sleep(0.02)
    raise AssertionError


def answer(sent, **said):
    """A receipt from the server, as bytes."""
    return pack_envelope(
        Envelope(
            bench=sent.bench, series=sent.series, number=0, utc_ns=time.time_ns(),
            subject="receipt", message=Receipt(series=sent.series, **said),
        )
    )  # fmt: skip


def heard(server, count):
    return [unpack_envelope(server.hear()[1]) for _ in range(count)]


async def in_thread(work, *arguments):
    return await asyncio.to_thread(work, *arguments)


def test_records_go_in_order_and_only_a_receipt_ends_them(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def play(store, publisher):
            sent = await in_thread(heard, server, 3)
            assert [one.number for one in sent] == [1, 2, 3]
            assert [one.message.checked().record for one in sent] == [1, 2, 3]
            await until(lambda: publisher.waiting == 3)
            await in_thread(
                server.publish, "ramphold/1/press-1/receipt", answer(sent[0], taken=(1, 2))
            )
            await until(lambda: publisher.waiting == 1)
            assert await store.run(lambda kept: kept.outbox.waiting()) == [3]

        asyncio.run(bench.run(play))


def test_a_record_added_later_goes_out_at_once(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def play(store, publisher):
            await in_thread(heard, server, 3)
            await store.run(lambda kept: kept.records.append(TURBIDITY))
            publisher.wake()
            assert [one.number for one in await in_thread(heard, server, 1)] == [4]

        asyncio.run(bench.run(play))


def test_what_was_not_receipted_is_sent_again_by_the_next_daemon(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def play(*_):
            return await in_thread(heard, server, 3)

        first = asyncio.run(bench.run(play))
        again = asyncio.run(bench.run(play))
        assert [one.id for one in again] == [one.id for one in first]


def test_what_the_server_refuses_is_parked_with_its_reason_and_what_it_misses_is_sent_again(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def play(store, publisher):
            sent = (await in_thread(heard, server, 3))[0]
            refusal = RefusedRecord(record=2, code="hash", reason="its link is wrong")
            said = answer(sent, taken=(1, 3), refused=(refusal,), wanted=((3, 3),))
            await in_thread(server.publish, "ramphold/1/press-1/receipt", said)
            assert [one.number for one in await in_thread(heard, server, 1)] == [3]
            await until(lambda: publisher.parked == 1)
            ((record, reason),) = await store.run(lambda store: store.outbox.parked())
            assert (record, reason) == (2, "the server refused it: its link is wrong")

        asyncio.run(bench.run(play))


def test_what_was_refused_is_sent_again_to_a_server_that_came_back_and_on_a_new_line(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def tell(what, publisher, parked):
            await in_thread(server.publish, "ramphold/1/press-1/receipt", what)
            await until(lambda: publisher.parked == parked)

        async def play(_, publisher):
            sent = (await in_thread(heard, server, 3))[1]
            refused = (RefusedRecord(record=2, code="invalid", reason="of no kind that is known"),)
            await tell(answer(sent, taken=(1, 3), refused=refused), publisher, 1)
            await tell(answer(sent), publisher, 0)
            assert [one.id for one in await in_thread(heard, server, 1)] == [sent.id]
            await tell(answer(sent, refused=refused), publisher, 1)
            return sent

        sent = asyncio.run(bench.run(play))

        async def play_again(_, publisher):
            assert [one.id for one in await in_thread(heard, server, 1)] == [sent.id]
            await in_thread(server.publish, "ramphold/1/press-1/receipt", answer(sent, taken=(2,)))
            await until(lambda: publisher.waiting == 0)

        asyncio.run(bench.run(play_again))


def test_a_server_that_is_back_is_sent_at_once_what_it_gave_no_receipt_for(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def play(*_):
            sent = await in_thread(heard, server, 3)
            await in_thread(server.publish, "ramphold/1/press-1/receipt", answer(sent[0]))
            again = await in_thread(heard, server, 3)
            assert [one.id for one in again] == [one.id for one in sent]

        asyncio.run(bench.run(play))


def test_a_fork_begins_a_new_series_and_sends_all_of_it(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def play(*_):
            sent = await in_thread(heard, server, 3)
            refusal = RefusedRecord(record=2, code="fork", reason="another record 2 was filed")
            said = answer(sent[0], taken=(1,), refused=(refusal,))
            await in_thread(server.publish, "ramphold/1/press-1/receipt", said)
            anew = await in_thread(heard, server, 3)
            assert [one.number for one in anew] == [1, 2, 3]
            assert {one.series for one in anew}.isdisjoint({one.series for one in sent})

        asyncio.run(bench.run(play))


def test_a_topic_that_the_broker_does_not_let_us_write_parks_the_record(bench):
    async def play(store, publisher):
        await until(lambda: publisher.parked == 3)
        reasons = {reason for _, reason in await store.run(lambda store: store.outbox.parked())}
        assert reasons == {"the broker refused it: Not authorized"}

    asyncio.run(bench.run(play, bench="press-2"))


def test_a_record_over_the_limit_goes_in_parts(bench):
    with Peer(bench.port, bench.server) as server:
        server.subscribe("ramphold/1/+/record")

        async def play(store, publisher):
            await in_thread(heard, server, 3)
            long = ValueEntered(sample=1, operator="KL", utc_ns=1, what="x" * 40_000, value=1.0)
            await store.run(lambda kept: kept.records.append(long))
            publisher.wake()
            first = (await in_thread(heard, server, 1))[0].message
            rest = await in_thread(heard, server, first.parts - 1)
            whole = join([first, *(one.message for one in rest)])
            assert unpack_envelope(whole).message.checked().what == "x" * 40_000

        asyncio.run(bench.run(play, max_packet=16_384))


def test_the_state_is_retained_and_the_broker_tells_of_a_bench_that_is_gone(bench):
    def state(server):
        return unpack_envelope(server.hear()[1]).message

    with Peer(bench.port, bench.server, name="watcher") as server:
        server.subscribe("ramphold/1/+/state")

        async def play(_, publisher):
            await until(lambda: publisher.up)
            first = await in_thread(state, server)
            assert (first.online, first.newest) == (True, 3)

        asyncio.run(bench.run(play))
        while (last := state(server)).online:
            pass
        assert not last.online


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda b: b.account.ca.rename(b.account.ca.with_suffix(".away")), "expected PEM files"),
    ],
    ids=["no authority"],
)
def test_what_is_wrong_is_said_and_nothing_is_lost(bench, spoil, said):
    spoil(bench)

    async def play(store, publisher):
        await until(lambda: said in publisher.text)
        assert not publisher.up
        assert await store.run(lambda kept: kept.outbox.waiting()) == [1, 2, 3]

    asyncio.run(bench.run(play))


def test_a_broker_that_comes_late_is_found_and_one_that_is_killed_is_found_again(bench, broker):
    broker.stop()

    async def play(_, publisher):
        await until(lambda: "can't be reached" in publisher.text)
        await in_thread(broker.start)
        with Peer(bench.port, bench.server, name="late") as server:
            await in_thread(server.subscribe, "ramphold/1/+/record")
            sent = await in_thread(heard, server, 3)
        await in_thread(broker.kill)
        await until(lambda: not publisher.up)
        await in_thread(broker.start)
        with Peer(bench.port, bench.server, name="later") as server:
            await in_thread(server.subscribe, "ramphold/1/+/record")
            again = await in_thread(heard, server, 3)
        assert {one.id for one in again} == {one.id for one in sent}

    asyncio.run(bench.run(play))


def test_a_bench_leaves_within_two_seconds_though_the_broker_is_silent(bench, broker):
    async def play(_, publisher):
        await until(lambda: publisher.up)
        broker.signal(signal.SIGSTOP)

    began = time.monotonic()  # noqa: TID251
    try:
        asyncio.run(bench.run(play))
    finally:
        broker.signal(signal.SIGCONT)
    assert time.monotonic() - began < PATIENCE_S  # noqa: TID251
