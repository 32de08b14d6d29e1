"""What the benches are doing now, by a real broker: seconds old, and unknown without it."""

import asyncio
import time

from ramphold.browse.live import LiveBenches
from ramphold.clock import SystemClock
from ramphold.publish.broker_config import BrokerConfig
from ramphold.publish.mqtt import BrokerConnection
from ramphold.wire import Envelope, StateMessage, pack_envelope, topic

SERIES = "b" * 32
PATIENCE_S = 10


def config(broker, user):
    account = {name: str(value) for name, value in vars(broker.account(user)).items()}
    return BrokerConfig(host="localhost", port=broker.port, **account)


async def until(known):
    """Wait until something is known."""
    async with asyncio.timeout(PATIENCE_S):
        while not known():  # noqa: ASYNC110 - nothing tells us: what is looked at is what a page sees
            await asyncio.sleep(0.02)


def said(bench, state):
    envelope = Envelope(
        bench=bench, series=SERIES, number=0, utc_ns=SystemClock().utc_ns(), subject="state",
        message=state,
    )  # fmt: skip
    return pack_envelope(envelope)


async def watched(broker, play):
    """Play a bench while the page listens."""
    events = []
    bench = BrokerConnection(
        config(broker, "press-1"),
        client_id="press-1",
        topics=(topic("press-1", "receipt"),),
        on_event=events.append,
    )
    live = LiveBenches(config(broker, "browse"), "browse", SystemClock())
    live.start()
    bench.start()
    try:
        await until(lambda: not live.why_unknown and events)
        await play(live, bench)
    finally:
        await bench.aclose()
        await live.aclose()


def test_a_hold_is_known_within_a_second_and_nobodys_words_are_taken_for_anothers(broker):
    async def play(live, bench):
        assert live.of(SERIES) is None
        hold = StateMessage(online=True, run="hold", stress_psi=8002.0, target_psi=8000.0)
        began_s = time.monotonic()  # noqa: TID251
        bench.send(topic("press-1", "state"), said("press-1", hold), retain=True)
        await until(lambda: live.of(SERIES))
        assert time.monotonic() - began_s < 1  # noqa: TID251
        assert live.of(SERIES).state == hold
        # The broker refuses the topic of another; a false name under its own topic is not taken.
        for name, as_whom in (("press-2", "press-2"), ("press-1", "press-2")):
            bench.send(topic(name, "state"), said(as_whom, StateMessage(online=False)))
        for nonsense in (b"{", b"x" * 70_000):
            bench.send(topic("press-1", "state"), nonsense)
        bench.send(topic("press-1", "state"), said("press-1", StateMessage(online=True)))
        await until(lambda: live.of(SERIES).state.run is None)
        assert live.of(SERIES).state.online

    asyncio.run(watched(broker, play))


def test_without_the_line_what_was_said_is_no_longer_called_the_present(broker):
    async def play(live, bench):
        bench.send(topic("press-1", "state"), said("press-1", StateMessage(online=True)))
        await until(lambda: live.of(SERIES))
        broker.kill()
        await until(lambda: live.why_unknown)
        assert live.of(SERIES) is None
        assert live.why_unknown.startswith("no line to the broker: ")

    asyncio.run(watched(broker, play))
