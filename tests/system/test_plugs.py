"""Plugs pulled and put in, silence, floods: what the daemon reports and stores, and how soon.

Times are on the machine's monotonic clock, which test and daemon share.
"""

import asyncio
import contextlib
import os
import threading
import tty

import pytest

from ramphold.clock import SystemClock
from ramphold.control import (
    act,
    instrument_methods,
    run_methods,
    run_queries,
    server_methods,
    specimen_methods,
)
from ramphold.core import ReadingsLost, ReadingsResumed
from ramphold.store import Store

pytestmark = pytest.mark.slow

CLOCK = SystemClock()
#: design: missing readings are reported within 0.2 s of being stale, which they are after 0.5 s.
SOON_S, STALE_S = 0.2, 0.5
START = run_methods.StartRunParams(
    specimen=1, operator="ab", target_psi=400, rate_psi_min=12_000, hold_s=60
)


def seconds(after_ns, before_ns):
    return (after_ns - before_ns) / 1e9


class Told:
    """The daemon's notifications of health and events, each with its time of arrival."""

    def __init__(self, client):
        self._client = client
        self.health, self.events = [], []

    async def listen(self):
        async for one in await self._client.subscribe(
            instrument_methods.ON_HEALTH, run_methods.ON_EVENT
        ):
            now_ns = CLOCK.now_ns()
            if isinstance(one, instrument_methods.InstrumentsHealth):
                load = next(part for part in one.instruments if part.name == "load")
                self.health.append((now_ns, load))
            else:
                self.events.append((now_ns, one.event))

    async def state(self, kind, after_ns):
        """When the load was first reported in a state after a time, and the text."""
        found = await self._wait(
            lambda: [t for t in self.health if t[0] >= after_ns and t[1].kind == kind]
        )
        return found[0], found[1].text

    async def event(self, kind):
        return await self._wait(lambda: [one for one in self.events if isinstance(one[1], kind)])

    @staticmethod
    async def _wait(look):
        for _ in range(1000):
            if found := look():
                return found[-1]
            await asyncio.sleep(0.01)
        raise AssertionError("it was not told in 10 s")


@contextlib.asynccontextmanager
async def live_run(site):
    """A daemon with a live run, its notifications, and a client."""
    site.start()
    async with site.connected() as client, site.connected() as listener:
        told = Told(listener)
        task = asyncio.create_task(told.listen())
        await site.load_is(client, "open")
        specimen = specimen_methods.AddSpecimenParams(label="s", target_psi=400, operator="ab")
        await client.call(specimen_methods.ADD_SPECIMEN, specimen)
        await client.call(run_methods.START_RUN, START)
        yield client, told
        task.cancel()
        await asyncio.wait([task])


async def ended(client):
    """End the run; its record."""
    await client.call(
        run_methods.END_RUN, run_methods.EndRunParams(reason="seen enough", operator="ab")
    )
    return (await client.call(run_queries.RUN, run_queries.RunParams(run=1))).run


def gap_check(run):
    return next(check for check in run.assessment.checks if check.name == "longest gap")


@pytest.mark.parametrize("how", ["pulled", "moved"])
def test_a_plug_pulled_in_a_run_is_told_at_once_and_the_run_marked_with_the_gap(site, how):
    async def body():
        async with live_run(site) as (client, told):
            async with site.sending():
                await asyncio.sleep(1)
            sent, gone_ns = site.sent, CLOCK.now_ns()
            before = site.bench.load_path.readlink()
            keep = os.dup(site.bench._terminals["load"][1]) if how == "moved" else None
            site.bench.unplug("load")
            told_ns, text = await told.state("missing", gone_ns)
            assert seconds(told_ns, gone_ns) < SOON_S
            assert text.startswith(f"{site.bench.load_path} went away: plug it in again")
            lost_ns, lost = await told.event(ReadingsLost)
            assert seconds(lost.t_ns, lost.since_ns) == STALE_S
            assert seconds(lost_ns, lost.t_ns) < SOON_S
            # The flood delays nothing else: the daemon answers and queries the balance.
            asked_ns = CLOCK.now_ns()
            await client.call(run_methods.SNAPSHOT, act.NoParams())
            assert seconds(CLOCK.now_ns(), asked_ns) < SOON_S
            await asyncio.sleep(0.7)
            site.bench.replug("load")
            back_ns = CLOCK.now_ns()
            assert site.bench.load_path.readlink() != before or keep is None
            opened_ns, _ = await told.state("open", back_ns)
            assert seconds(opened_ns, back_ns) < 2.5  # the longest wait between two tries is 2 s
            async with site.sending():
                await asyncio.sleep(0.5)
            _, resumed = await told.event(ReadingsResumed)
            assert resumed.gap_s > 1.2
            run = await ended(client)
            assert gap_check(run).value == pytest.approx(resumed.gap_s, abs=0.02)
            assert gap_check(run).passed is False
            if keep is not None:
                os.close(keep)
            return sent + site.sent

    sent = asyncio.run(body())
    site.close()
    with Store.open(site.folder / "runs.sqlite3") as store:
        # Readings before the start are not part of the run. From then on none is missing.
        assert sent - 10 <= len(store.runs.readings(1)) <= sent


def test_an_adapter_whose_old_device_stays_behind_is_followed_to_the_new_one(site):
    async def body():
        async with live_run(site) as (_, told):
            async with site.sending():
                await asyncio.sleep(0.3)
            ours, theirs = os.openpty()
            tty.setraw(theirs)
            site.bench.load_path.unlink()
            site.bench.load_path.symlink_to(os.ttyname(theirs))
            moved_ns = CLOCK.now_ns()
            _, text = await told.state("missing", moved_ns)
            assert text.endswith("is another device now: it is opened again")
            opened_ns, _ = await told.state("open", moved_ns)
            assert seconds(opened_ns, moved_ns) < 1.0
            os.write(ours, b"ST,GS,+ 000777.0 lbf\r\n")
            await asyncio.sleep(0.3)
            os.close(ours)
            os.close(theirs)

    asyncio.run(body())
    site.close()
    with Store.open(site.folder / "runs.sqlite3") as store:
        assert store.runs.readings(1)[-1].force_lbf == 777.0


def test_an_indicator_that_falls_silent_is_told_within_the_stale_time_and_comes_back(site):
    async def body():
        async with live_run(site) as (client, told):
            async with site.sending():
                await asyncio.sleep(1)
            fell_ns = CLOCK.now_ns()
            silent_ns, text = await told.state("silent", fell_ns)
            assert seconds(silent_ns, fell_ns) < STALE_S + SOON_S
            assert text.startswith("sends nothing")
            lost_ns, lost = await told.event(ReadingsLost)
            assert seconds(lost_ns, lost.t_ns) < SOON_S
            async with site.sending():
                back_ns = CLOCK.now_ns()
                opened_ns, _ = await told.state("open", back_ns)
                assert seconds(opened_ns, back_ns) < SOON_S
                await told.event(ReadingsResumed)
            live = await client.call(run_methods.SNAPSHOT, act.NoParams())
            assert live.force_lbf == 1256.6

    asyncio.run(body())


def pour(descriptor, stop):
    """Write lines as fast as the terminal takes them."""
    lines = b"ST,GS,+ 001256.6 lbf\r\n" * 50
    while not stop.is_set():
        try:
            os.write(descriptor, lines)
        except BlockingIOError:
            stop.wait(0.0005)


def test_a_flood_is_told_takes_a_known_share_of_the_processor_and_holds_up_nobody(site):
    async def body():
        async with live_run(site) as (client, told):
            async with site.sending():
                await asyncio.sleep(0.5)
            stop = threading.Event()
            descriptor = site.bench._terminals["load"][0]
            flood = threading.Thread(target=pour, args=(descriptor, stop))
            began_ns = CLOCK.now_ns()
            flood.start()
            try:
                flooding_ns, text = await told.state("flooding", began_ns)
                assert seconds(flooding_ns, began_ns) < 2
                assert text.startswith("sends faster than any instrument")
                await asyncio.sleep(1)
                before, waits = site.use(), []
                for _ in range(20):
                    asked_ns = CLOCK.now_ns()
                    await client.call(server_methods.STATUS, act.NoParams())
                    waits.append(seconds(CLOCK.now_ns(), asked_ns))
                    await asyncio.sleep(0.1)
                after = site.use()
            finally:
                stop.set()
                flood.join()
            share = (after.cpu_s - before.cpu_s) / 2
            assert share < 0.7
            assert after.memory - before.memory < 8_000_000
            assert max(waits) < SOON_S
            async with site.sending():
                await told.state("open", CLOCK.now_ns())

    asyncio.run(body())


def test_a_networked_indicator_that_hangs_up_and_answers_again_is_read_again(site):
    async def body():
        lines, writers = b"ST,GS,+ 001256.6 lbf\r\n", []

        async def serve(_, writer):
            writers.append(writer)
            with contextlib.suppress(ConnectionError):
                while not writer.is_closing():
                    writer.write(lines)
                    await writer.drain()
                    await asyncio.sleep(1 / 80)

        server = await asyncio.start_server(serve, "127.0.0.1", 0)
        port = server.sockets[0].getsockname()[1]
        site.start(load=f"socket://127.0.0.1:{port}")
        async with site.connected() as client, site.connected() as listener:
            told = Told(listener)
            task = asyncio.create_task(told.listen())
            await site.load_is(client, "open")
            await asyncio.sleep(0.3)
            hung_ns = CLOCK.now_ns()
            writers.pop().close()
            missing_ns, text = await told.state("missing", hung_ns)
            assert seconds(missing_ns, hung_ns) < SOON_S
            assert text.startswith(f"socket://127.0.0.1:{port} went away")
            opened_ns, _ = await told.state("open", hung_ns)
            assert seconds(opened_ns, hung_ns) < 1
            await asyncio.sleep(0.3)
            live = await client.call(run_methods.SNAPSHOT, act.NoParams())
            assert live.force_lbf == 1256.6
            task.cancel()
            await asyncio.wait([task])
        for writer in writers:
            writer.close()
        server.close()
        await server.wait_closed()

    asyncio.run(body())


def test_the_watchdog_is_fed_while_readings_come_while_none_come_and_while_the_port_is_gone(
    site, manager
):
    def fed(times):
        count = 0
        while count < times:
            count += b"WATCHDOG=1" in manager.recv(4096)

    async def body():
        site.start(NOTIFY_SOCKET=manager.getsockname(), WATCHDOG_USEC="200000")
        async with site.connected() as client:
            await site.load_is(client, "open")
            async with site.sending():
                await asyncio.to_thread(fed, 3)
            await site.load_is(client, "silent")
            await asyncio.to_thread(fed, 3)
            site.bench.unplug("load")
            await site.load_is(client, "missing")
            await asyncio.to_thread(fed, 3)

    asyncio.run(body())
