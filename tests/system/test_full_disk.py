"""The real daemon whose disk is full before, during and at the end of a run, or is gone."""

import asyncio
import itertools
import subprocess
import sys
import time

import pytest

from ramphold.control import act, run_methods, run_queries, server_methods, specimen_methods
from ramphold.core import RunState, WarningKind
from ramphold.daemon.config import (
    CalibrationConfig,
    ControlConfig,
    Lbf,
    StoreConfig,
    UnusualConfig,
)
from ramphold.daemon.loads.indicator_load import IndicatorConfig
from ramphold.daemon.main import Daemon
from ramphold.errors import CommandRefused
from ramphold.method.daily_check import LOAD_ZERO
from ramphold.sample import DailyCheckMade
from ramphold.store import Store
from ramphold.testing import ManualClock
from support.certificates import certificate
from support.configs import bench_config

pytestmark = pytest.mark.slow

START = run_methods.StartRunParams(specimen=1, operator="ab", target_psi=4000)
NOTHING = act.NoParams()


@pytest.fixture
def small_disk(mounted):
    return mounted("12m")


def fill(disk, left=0):
    """Write until the disk is full, but for so many pages."""
    with (disk / "ballast").open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            file.truncate(file.tell() - 4096 * left)


async def until(ask, timeout_s=5.0):
    """Wait for an answer that is true."""
    for _ in range(round(timeout_s / 0.02)):
        if found := await ask():
            return found
        await asyncio.sleep(0.02)
    raise AssertionError


async def started(site, client):
    await client.call(
        specimen_methods.ADD_SPECIMEN,
        specimen_methods.AddSpecimenParams(label="s", target_psi=4000, operator="ab"),
    )
    await site.load_is(client, "open")
    await client.call(run_methods.START_RUN, START)


def checked(site):
    return subprocess.run(
        [sys.executable, "-m", "ramphold.cli", "check", "--config", site.folder / "bench.toml"],
        capture_output=True,
        text=True,
        check=False,
    )


def terminated(site):
    began_s = time.perf_counter()
    site.daemon.terminate()
    site.daemon.wait(5)
    assert (site.daemon.returncode, time.perf_counter() - began_s < 3) == (0, True)


async def fills_up(site, disk):
    """A run on a disk that fills up, its warning, and its end."""
    async with site.connected() as client, site.sending(force_lbf=600):
        await started(site, client)
        fill(disk)
        full_s = time.perf_counter()

        async def told():
            live = await client.call(run_methods.SNAPSHOT, NOTHING)
            return live if live.unwritten else None

        live = await until(told)
        # A second between commits, and at most two until it is told.
        assert time.perf_counter() - full_s < 3
        assert "the disk is full" in live.unwritten
        assert WarningKind.NOT_RECORDED in {one.kind for one in live.snapshot.warnings}
        said = await asyncio.to_thread(checked, site)
        assert (said.returncode, "NOT RECORDED" in said.stdout) == (1, True)
        end = run_methods.EndRunParams(reason="full", operator="ab")
        ended = await client.call(run_methods.END_RUN, end)
        assert "the disk is full" in ended.unwritten
        with pytest.raises(CommandRefused, match="run 1 has ended and is not written yet"):
            await client.call(run_methods.END_RUN, end)


async def starts_full(site, disk):
    """A daemon that starts on the full disk, and records once there is room."""
    async with site.connected() as client, site.sending(force_lbf=600):
        await site.load_is(client, "open")
        status = await client.call(server_methods.STATUS, NOTHING)
        assert status.run is None
        first = run_queries.RunParams(run=1)
        assert (await client.call(run_queries.RUN, first)).run.specimen == 1
        with pytest.raises(CommandRefused, match="NOT STARTED: a run could not be kept now"):
            await client.call(run_methods.START_RUN, START)
        said = await asyncio.to_thread(checked, site)
        assert "NOT RECORDED" in said.stdout
        (disk / "ballast").unlink()

        async def written():
            return (await client.call(run_queries.RUN, first)).run.ended_t_ns

        await until(written)
        await client.call(run_methods.START_RUN, START)


@pytest.mark.root
def test_a_disk_that_fills_up_in_a_run_is_told_within_two_seconds_and_costs_no_reading(
    small_disk, site
):
    """Told, ended, stopped and started with the disk full; whole once there is room."""
    database, second = small_disk / "runs.sqlite3", site.folder / "second"
    second.mkdir()
    here = {"database": database, "RUNTIME_DIRECTORY": str(second)}
    site.start(**here)
    asyncio.run(fills_up(site, small_disk))
    terminated(site)
    assert len(list(second.glob("*.tail"))) == 1
    site.start(**here)
    asyncio.run(starts_full(site, small_disk))
    terminated(site)
    assert list(second.iterdir()) == []
    with Store.open(database) as store:
        kept, readings = store.runs.one(1), store.runs.readings(1)
        assert kept.state is RunState.STOPPED
        assert kept.reason == "ended: full (ab)"
        gaps = [b.t_ns - a.t_ns for a, b in itertools.pairwise(readings)]
        assert max(gaps) < 0.3e9
        assert list(store.audit().findings()) == []


@pytest.mark.root
def test_a_disk_that_opens_the_database_and_takes_no_record_lets_the_daemon_start(mounted, caplog):
    """What the start records is recorded once there is room."""
    disk = mounted("2m")
    here = {
        "store": StoreConfig(path=str(disk / "runs.sqlite3")),
        "control": ControlConfig(socket=str(disk.parent / "c.sock")),
    }

    async def start(left, config):
        fill(disk, left)
        async with Daemon(config, ManualClock(utc_ns=10**18)) as daemon:
            (disk / "ballast").unlink()

            async def recorded():
                book = await daemon._store.run(lambda store: store.bench.record())
                return [one for one in book.unusual if one.value == config.unusual[0].value]

            await until(recorded)

    Store.open(disk / "runs.sqlite3").close()
    for pages in range(8, 17):
        why = UnusualConfig(key="[cell] bore", value=f"1.5{pages} in", reason="old", by="AB")
        asyncio.run(start(pages, bench_config(unusual=(why,), **here)))
    assert "unusual values are not recorded yet" in caplog.text


@pytest.mark.root
def test_a_daemon_that_starts_on_a_full_disk_counts_from_the_newest_zero(mounted):
    disk = mounted("2m")
    folder = disk.parent / "certificates"
    folder.mkdir(exist_ok=True)
    held = certificate()
    (folder / f"{held.id}.toml").write_text(held.text())
    config = bench_config(
        load=IndicatorConfig(port="none", capacity=Lbf(50_000)),
        calibration=CalibrationConfig(folder=str(folder)),
        store=StoreConfig(path=str(disk / "runs.sqlite3")),
        control=ControlConfig(socket=str(disk.parent / "c.sock")),
    )
    clock = ManualClock(utc_ns=1_795_611_600 * 10**9)
    zero = DailyCheckMade(
        sample=None,
        operator="AB",
        utc_ns=clock.utc_ns(),
        rule=LOAD_ZERO.name,
        measured=60.0,
        expected=0.0,
        base=1e5,
        off_pct=0.06,
        verdict="warning",
        off_lbf=30.0,
    )

    async def zero_after(first):
        async with Daemon(config, clock) as daemon:
            if first:
                await daemon._store.run(lambda store: store.records.append(zero))
            return bool(daemon._store.refused), daemon.in_force.zero

    assert asyncio.run(zero_after(first=True)) == (False, 0.0)
    fill(disk)
    assert asyncio.run(zero_after(first=False)) == (True, 60.0)
