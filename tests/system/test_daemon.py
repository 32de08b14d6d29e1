"""The real daemon in a process of its own, on pseudo-terminals, killed and started again."""

import asyncio
import contextlib
import itertools
import os
import resource
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from ramphold.control import act, run_methods, run_queries, server_methods, specimen_methods
from ramphold.control.client import Client
from ramphold.control.run_methods import PUMP, PumpAction, PumpParams
from ramphold.core import RunState, RunTakenUp, StateChanged
from ramphold.errors import CommandRefused, LinkError
from ramphold.sim.ports import SimulatedPorts
from ramphold.store import Store

pytestmark = pytest.mark.slow

# A run of a few seconds: 400 psi is the lowest target that differs from seating.
START = run_methods.StartRunParams(
    specimen=1, operator="ab", target_psi=400, rate_psi_min=12_000, hold_s=1.5
)
AREA_IN2 = 3.14159265


class Site:
    """A folder with a configuration, a bench, and a daemon process."""

    def __init__(self, folder):
        self.folder = folder
        self.config = folder / "bench.toml"
        self.socket = folder / "control.sock"
        self.database = folder / "runs.sqlite3"
        self.bench = SimulatedPorts(folder)
        self.daemon = None
        self.config.write_text(f"""
bench = "press-1"
press.rating = "50000lbf"
load = {{ kind = "indicator", port = "{self.bench.load_path}", capacity = "50000lbf" }}
balance = {{ port = "{self.bench.balance_path}", profile = "reply-state" }}
store.path = "{self.database}"
control.socket = "{self.socket}"
""")

    def start(self):
        with (self.folder / "log").open("ab") as log:
            self.daemon = subprocess.Popen(
                [sys.executable, "-m", "ramphold.cli", "daemon", "--config", self.config],
                stderr=log,
            )

    async def client(self):
        for _ in range(200):
            with contextlib.suppress(LinkError):
                return await Client.connect(self.socket)
            await asyncio.sleep(0.05)
        raise AssertionError((self.folder / "log").read_text())

    async def heard(self, client, name):
        """Wait until an instrument answers."""
        for _ in range(200):
            status = await client.call(server_methods.STATUS, act.NoParams())
            if any(one.name == name and one.ok for one in status.instruments):
                return
            await asyncio.sleep(0.02)
        raise AssertionError(status)

    async def press(self, corners_psi):
        """Let the load indicator send a load, ten times a second in real time."""
        for (t0, psi0), (t1, psi1) in itertools.pairwise(corners_psi):
            for step in range(round((t1 - t0) * 10)):
                stress_psi = psi0 + (psi1 - psi0) * step / ((t1 - t0) * 10)
                self.bench.send_load(stress_psi * AREA_IN2)
                await asyncio.sleep(0.1)


@pytest.fixture
def site(tmp_path):
    made = Site(tmp_path)
    made.bench.serve()
    yield made
    if made.daemon and made.daemon.poll() is None:
        made.daemon.kill()
        made.daemon.wait()
    made.bench.close()


async def begun(site):
    """A daemon with a live run."""
    site.start()
    client = await site.client()
    await site.heard(client, "load")
    await client.call(
        specimen_methods.ADD_SPECIMEN,
        specimen_methods.AddSpecimenParams(label="s", target_psi=400, operator="ab"),
    )
    await client.call(run_methods.START_RUN, START)
    return client


def test_a_run_through_real_ports_is_followed_kept_and_judged(site):
    async def body():
        async with await begun(site) as client:
            told = await client.subscribe(run_methods.ON_EVENT)
            await site.press([(0, 0), (2, 400), (3.8, 400), (4, 0), (5, 0)])
            states = []
            async for one in told:
                if isinstance(one.event, StateChanged):
                    states.append(one.event.after)
                if states[-1:] == [RunState.COMPLETE]:
                    break
            assert states == ["seating", "ramp", "hold", "release", "complete"]
            detail = await client.call(run_queries.RUN, run_queries.RunParams(run=1))
            assert detail.run.assessment.peak_lbf == pytest.approx(400 * AREA_IN2, rel=1e-3)

    asyncio.run(body())


def test_a_daemon_killed_in_the_hold_leaves_all_committed_readings_and_its_run_is_taken_up(site):
    async def body():
        client = await begun(site)
        await site.press([(0, 0), (2, 400), (3, 400)])
        live = await client.call(run_methods.SNAPSHOT, act.NoParams())
        assert live.snapshot.state is RunState.HOLD
        await asyncio.sleep(1.1)  # one commit a second
        os.kill(site.daemon.pid, signal.SIGKILL)
        site.daemon.wait()
        await client.aclose()

    asyncio.run(body())
    # Read with a general tool, before any of our code opens the file again.
    raw = sqlite3.connect(site.database)
    assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    kept = raw.execute("SELECT count(*), max(t_ns) - min(t_ns) FROM readings").fetchone()
    assert raw.execute("SELECT state, ended_t_ns FROM runs").fetchone() == ("hold", None)
    raw.close()
    assert kept[0] >= 28

    async def again():
        site.start()
        async with await site.client() as client:
            detail = await client.call(run_queries.RUN, run_queries.RunParams(run=1))
            assert detail.run.state is RunState.HOLD
            assert (await client.call(server_methods.STATUS, act.NoParams())).run == 1
            await site.heard(client, "load")
            await site.press([(0, 400), (1.5, 400), (1.6, 0), (2.6, 0)])
            detail = await client.call(run_queries.RUN, run_queries.RunParams(run=1))
            assert detail.run.state is RunState.COMPLETE
            taken_up = [one.event for one in detail.events if isinstance(one.event, RunTakenUp)]
            assert 1 < taken_up[0].gap_s < 5
            (gap,) = [one for one in detail.run.assessment.checks if one.name == "longest gap"]
            assert gap.value > taken_up[0].gap_s
            assert detail.run.assessment.verdict == "fail"

    asyncio.run(again())
    site.daemon.kill()
    site.daemon.wait()
    with Store.open(site.database) as store:
        assert len(store.runs.readings(1)) > kept[0]
        assert list(store.audit().findings()) == []


def test_sigterm_in_a_run_ends_the_daemon_within_two_seconds_with_all_readings_kept(site):
    async def body():
        client = await begun(site)
        await site.press([(0, 0), (1, 200)])
        started = time.perf_counter()
        site.daemon.terminate()
        await asyncio.to_thread(site.daemon.wait, 5)
        assert time.perf_counter() - started < 2
        assert site.daemon.returncode == 0
        await client.aclose()

    asyncio.run(body())
    with Store.open(site.database) as store:
        assert len(store.runs.readings(1)) == 10


def test_a_daemon_whose_ports_are_missing_starts_names_them_and_takes_them_when_they_come(site):
    site.bench.unplug("load")
    site.bench.unplug("balance")

    async def body():
        site.start()
        async with await site.client() as client:
            await asyncio.sleep(0.3)
            status = await client.call(server_methods.STATUS, act.NoParams())
            assert [one.ok for one in status.instruments] == [False, False]
            assert str(site.bench.load_path) in status.instruments[0].text
            site.bench.replug("load")
            await site.heard(client, "load")

    asyncio.run(body())


def test_a_screen_that_never_reads_does_not_hold_up_the_daemon(site):
    async def body():
        async with await begun(site) as client:
            deaf = await Client.connect(site.socket)
            await deaf.subscribe(run_methods.ON_SNAPSHOT, run_methods.ON_EVENT)
            deaf._listener.cancel()
            await site.press([(0, 0), (2, 400)])
            live = await client.call(run_methods.SNAPSHOT, act.NoParams())
            assert live.snapshot.stress_psi == pytest.approx(380, abs=25)
            await deaf.aclose()

    asyncio.run(body())


def test_check_asks_the_running_daemon_instead_of_its_ports(site):
    async def body():
        site.start()
        async with await site.client() as client:
            await site.heard(client, "load")

    asyncio.run(body())
    told = subprocess.run(
        [sys.executable, "-m", "ramphold.cli", "check", "--config", site.config],
        capture_output=True,
        text=True,
        check=False,
    )
    assert "told by the daemon" in told.stdout
    assert "load" in told.stdout
    assert Path(site.socket).exists()


def test_check_names_the_live_run_for_who_wants_to_stop_the_daemon(site):
    async def body():
        async with await begun(site):
            return await asyncio.to_thread(
                subprocess.run,
                [sys.executable, "-m", "ramphold.cli", "check", "--config", site.config],
                capture_output=True,
                text=True,
                check=False,
            )

    assert "run 1 is live: leave the daemon running" in asyncio.run(body()).stdout


def test_a_real_press_is_not_pumped_over_the_socket(site):
    async def body():
        async with await site.client() as client:
            status = await client.call(server_methods.STATUS, act.NoParams())
            with pytest.raises(CommandRefused, match="this bench is real: only a hand at it"):
                await client.call(PUMP, PumpParams(act=PumpAction.SQUEEZE))
            return status.simulated

    site.start()
    assert asyncio.run(body()) is False


def test_more_connections_than_files_leave_the_daemon_its_ports(site):
    """1100 at a limit of 1024 open files: the load, unplugged meanwhile, is read again."""

    async def body():
        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        resource.setrlimit(resource.RLIMIT_NOFILE, (min(4096, hard), hard))
        with contextlib.ExitStack() as stack:
            stack.callback(resource.setrlimit, resource.RLIMIT_NOFILE, (soft, hard))
            async with await begun(site) as client:
                resource.prlimit(site.daemon.pid, resource.RLIMIT_NOFILE, (1024, 1024))
                for _ in range(1100):
                    link = stack.enter_context(socket.socket(socket.AF_UNIX))
                    await asyncio.get_running_loop().run_in_executor(
                        None, link.connect, str(site.socket)
                    )
                site.bench.unplug("load")
                await asyncio.sleep(1)
                site.bench.replug("load")
                await site.heard(client, "load")

    asyncio.run(body())
    log = (site.folder / "log").read_text()
    assert "Traceback" not in log
    assert log.count("\n") < 100  # who came and left, and one line of the flood
