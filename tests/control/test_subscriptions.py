import asyncio
import json
import logging

import pytest

from ramphold.control import act, instrument_methods, run_methods, server_methods
from ramphold.control.client import Client
from ramphold.core import MassReading, MassState
from ramphold.errors import InputError, LinkError

NOTHING = act.NoParams()
MASS = MassReading(t_ns=1, mass_g=39.52, state=MassState.STABLE, line=b"+39.520 g")
HEALTH = instrument_methods.InstrumentsHealth(
    instruments=(
        instrument_methods.InstrumentHealth(name="load", kind="load", ok=True, text="reads"),
    )
)


def subscribe_line(*topics):
    params = {"topics": list(topics)}
    request = {"jsonrpc": "2.0", "id": 1, "method": "subscribe", "params": params}
    return json.dumps(request).encode() + b"\n"


def test_a_subscriber_is_told_what_it_asked_for_in_order(bench, live, event):
    async def check():
        async with bench.linked() as client:
            told = await client.subscribe(
                run_methods.ON_EVENT,
                instrument_methods.ON_MASS,
                instrument_methods.ON_HEALTH,
                run_methods.ON_SNAPSHOT,
            )
            bench.server.publish(run_methods.ON_EVENT, event(0))
            bench.server.publish(instrument_methods.ON_MASS, MASS)
            bench.server.publish(instrument_methods.ON_HEALTH, HEALTH)
            bench.server.publish(run_methods.ON_EVENT, event(1))
            bench.server.publish(run_methods.ON_SNAPSHOT, live(5))
            got = [await anext(told) for _ in range(5)]
            assert got == [event(0), MASS, HEALTH, event(1), live(5)]
            assert [type(one) for one in got] == [
                run_methods.RunEvent, MassReading, instrument_methods.InstrumentsHealth,
                run_methods.RunEvent, run_methods.Live,
            ]  # fmt: skip

    asyncio.run(check())


def test_nobody_is_told_what_he_did_not_ask_for(bench, live, event):
    async def check():
        async with bench.linked() as client:
            bench.server.publish(run_methods.ON_EVENT, event(0))
            told = await client.subscribe(run_methods.ON_EVENT)
            bench.server.publish(run_methods.ON_SNAPSHOT, live(1))
            bench.server.publish(run_methods.ON_EVENT, event(1))
            assert await anext(told) == event(1)

    asyncio.run(check())


def test_subscribing_again_replaces_the_topics(bench, live, event):
    async def check():
        async with bench.linked() as client:
            await client.subscribe(run_methods.ON_EVENT)
            told = await client.subscribe(run_methods.ON_SNAPSHOT)
            bench.server.publish(run_methods.ON_EVENT, event(0))
            bench.server.publish(run_methods.ON_SNAPSHOT, live(1))
            assert await anext(told) == live(1)

    asyncio.run(check())


def test_an_unknown_topic_is_named_and_changes_nothing(bench, event):
    async def check():
        async with bench.linked() as client:
            told = await client.subscribe(run_methods.ON_EVENT)
            odd = act.Topic("weather", run_methods.Live, replaceable=True, about="no such thing")
            with pytest.raises(InputError, match="unknown topic 'weather': expected some of snap"):
                await client.subscribe(odd)
            bench.server.publish(run_methods.ON_EVENT, event(0))
            assert await anext(told) == event(0)

    asyncio.run(check())


def test_of_snapshots_not_yet_sent_only_the_newest_is_and_events_all(bench, live, event):
    async def check():
        async with bench.linked() as client:
            told = await client.subscribe(run_methods.ON_SNAPSHOT, run_methods.ON_EVENT)
            for n in range(100):
                bench.server.publish(run_methods.ON_SNAPSHOT, live(n))
                if n % 40 == 0:
                    bench.server.publish(run_methods.ON_EVENT, event(n))
            got = [await anext(told) for _ in range(4)]
            assert got == [event(0), event(40), event(80), live(99)]

    asyncio.run(check())


def test_a_subscriber_that_takes_nothing_in_time_finds_the_newest_and_all_events(
    bench, live, event
):
    async def check():
        async with bench.linked() as client:
            told = await client.subscribe(run_methods.ON_SNAPSHOT, run_methods.ON_EVENT)
            for n in range(20):
                bench.server.publish(run_methods.ON_SNAPSHOT, live(n))
                bench.server.publish(run_methods.ON_EVENT, event(n))
                await client.call(server_methods.STATUS, NOTHING)  # all of it has arrived by now
            got = [await anext(told) for _ in range(21)]
            assert got == [*(event(n) for n in range(19)), live(19), event(19)]

    asyncio.run(check())


def test_a_client_that_reads_nothing_costs_little_and_holds_up_nobody(bench, live, event):
    count = 4000

    async def check():
        async with bench.linked() as quick:
            told = await quick.subscribe(run_methods.ON_SNAPSHOT, run_methods.ON_EVENT)
            with bench.raw() as slow:
                assert await slow.ask(subscribe_line("snapshot", "event"))
                bench.server.publish(run_methods.ON_EVENT, event(0))
                assert await anext(told) == event(0)
                for n in range(count):
                    bench.server.publish(run_methods.ON_SNAPSHOT, live(n))
                    assert await anext(told) == live(n)
                bench.server.publish(run_methods.ON_EVENT, event(1))
                assert await anext(told) == event(1)
                got, size = [], 0
                while not got or got[-1]["method"] != "event" or len(got) == 1:
                    line = await slow.line()
                    got.append(json.loads(line))
                    size += len(line)
            snapshots = [one["params"]["t_ns"] for one in got if one["method"] == "snapshot"]
            assert snapshots == sorted(set(snapshots))
            assert snapshots[-1] == count - 1  # the newest was not lost
            assert len(snapshots) < count  # the others were not kept for it
            assert size < 600_000  # the kernel's buffer and ours
            events = [one["params"]["seq"] for one in got if one["method"] == "event"]
            assert events == [0, 1]

    asyncio.run(check())


@pytest.mark.slow
def test_a_client_for_which_too_many_events_wait_is_dropped_and_the_others_are_not(
    bench, event, caplog
):
    async def check():
        async with bench.linked() as quick:
            told = await quick.subscribe(run_methods.ON_EVENT)
            with bench.raw() as slow:
                assert await slow.ask(subscribe_line("event"))
                for n in range(20_000):
                    bench.server.publish(run_methods.ON_EVENT, event(n))
                    assert await anext(told) == event(n)
                    if "dropped" in caplog.text:
                        break
                assert n > 5000
                got = 0
                while await slow.line():
                    got += 1
                assert 0 < got < n
            assert await quick.call(server_methods.STATUS, NOTHING)

    with caplog.at_level(logging.WARNING):
        asyncio.run(check())
    assert "dropped: it does not read its messages" in caplog.text


def test_the_last_events_before_a_stop_still_reach_the_subscriber(bench, event):
    async def check():
        async with bench.serving():
            client = await Client.connect(bench.path)
            told = await client.subscribe(run_methods.ON_EVENT)
            bench.server.publish(run_methods.ON_EVENT, event(0))
            bench.server.publish(run_methods.ON_EVENT, event(1))
            await bench.server.aclose()
            assert [await anext(told) for _ in range(2)] == [event(0), event(1)]
            with pytest.raises(LinkError, match="the daemon closed the link"):
                await anext(told)
            await client.aclose()

    asyncio.run(check())


def test_publishing_to_nobody_is_nothing(bench, live):
    async def check():
        async with bench.linked() as client:
            bench.server.publish(run_methods.ON_SNAPSHOT, live(1))
            assert await client.call(server_methods.STATUS, NOTHING)
        bench.server.publish(run_methods.ON_SNAPSHOT, live(2))

    asyncio.run(check())
