"""What the daemon finds of its own bench: recording, clock, instruments, backup, certificates."""

import asyncio
import contextlib
import sqlite3
from pathlib import Path

import msgspec

from ramphold.clock import ClockState, SystemClock
from ramphold.control import act, server_methods
from ramphold.control.client import Client
from ramphold.daemon.config import ControlConfig, StoreConfig
from ramphold.daemon.main import Daemon
from ramphold.keys.key_folder import KeyFolder
from ramphold.publish.broker_config import BrokerConfig
from ramphold.sample import ClockStamp, Reviewed
from ramphold.store.backup import note_backup
from ramphold.testing import ManualClock
from ramphold.trust import TRUST_PARTS, TrustLevel
from support.configs import bench_config

BEGAN_UTC_NS = 1_790_000_000 * 10**9
UNKNOWN = ClockState()
HOUR_NS = 3600 * 10**9


def looked(tmp_path, before=lambda _: None, known=UNKNOWN, after=None, **settings):
    """The parts of a daemon's trust, by name, and what it tells its client."""
    path = tmp_path / "runs.sqlite3"

    async def body():
        config = bench_config(
            store=StoreConfig(path=str(path)),
            control=ControlConfig(socket=str(tmp_path / "c.sock")),
            **settings,
        )
        clock = ManualClock(utc_ns=BEGAN_UTC_NS)
        clock.known = known
        before(path)
        async with Daemon(config, clock) as daemon:
            if after is not None:
                await after(daemon, clock)
                await daemon.trust.refresh()
            async with await Client.connect(Path(config.control.socket)) as client:
                told = await client.call(server_methods.STATUS, act.NoParams())
            assert tuple(one.name for one in told.trust) == TRUST_PARTS
            return {one.name: one for one in daemon.trust._look()}

    return asyncio.run(body())


def test_a_bench_without_server_certificate_and_copy_says_so(tmp_path):
    found = looked(tmp_path)
    assert {name: str(one.level) for name, one in found.items()} == {
        "recording": "well",
        "clock": "doubtful",
        "instruments": "bad",
        "backup": "doubtful",
        "server": "well",
        "certificates": "bad",
    }


def test_a_copy_that_was_noted_has_its_age(tmp_path):
    found = looked(tmp_path, lambda path: note_backup(path, BEGAN_UTC_NS - 5 * HOUR_NS))
    assert found["backup"].text == "the newest copy is 5 h old"


def test_a_calendar_before_the_newest_record_is_told(tmp_path):
    async def set_back(daemon, clock):
        await daemon._store.run(
            lambda store: store.records.append(
                Reviewed(sample=None, operator="ab", utc_ns=clock.utc_ns(), remarks="")
            )
        )
        clock.set_calendar(BEGAN_UTC_NS - HOUR_NS)

    found = looked(tmp_path, known=ClockState(synchronised=True, battery=True), after=set_back)
    assert found["clock"].level is TrustLevel.BAD
    assert "before the newest record" in found["clock"].text


def test_the_kernels_own_word_on_its_clock_is_read():
    known = SystemClock().state()
    assert len(known.boot) == 36
    assert known.synchronised in {None, False, True}
    assert known.battery == any(Path("/sys/class/rtc").glob("rtc*"))


def test_every_record_of_a_daemon_holds_the_time_of_the_boot(tmp_path):
    kept = []

    async def records(daemon, clock):
        clock.advance(5)
        review = Reviewed(sample=None, operator="ab", utc_ns=clock.utc_ns())
        await daemon._store.run(lambda store: store.records.append(review))
        kept.extend(await daemon._store.run(lambda store: store.records.of_sample(None)))

    looked(tmp_path, known=ClockState(boot="one", synchronised=False), after=records)
    assert kept[-1].clock == ClockStamp(boot="one", t_ns=5 * 10**9, synchronised=False)
    kept.clear()
    looked(tmp_path, after=records)
    assert kept[-1].clock is msgspec.UNSET


def test_a_database_that_another_program_keeps_locked_is_told_without_a_run(tmp_path):
    path = tmp_path / "runs.sqlite3"

    async def lock(daemon, _):
        with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await daemon.press.starter.try_to_write()
            assert daemon.press.snapshot().unkept == ""  # a moment is waited for
            for _ in range(3):
                await daemon.trust.refresh()
            assert "is locked by another program" in daemon.press.snapshot().unkept
            told = daemon.trust._look()[0]
            assert (told.level, "no run could be kept now" in told.text) == (TrustLevel.BAD, True)
            other.execute("ROLLBACK")

    assert looked(tmp_path, after=lock)["recording"].level is TrustLevel.WELL


def test_records_that_are_not_signed_are_told_at_the_bench(tmp_path):
    looked(tmp_path)
    KeyFolder.beside(tmp_path / "runs.sqlite3").path.joinpath("own.key").chmod(0o644)
    found = looked(tmp_path)["recording"]
    assert found.level is TrustLevel.DOUBTFUL
    assert found.text.startswith("records are not signed until a restart: ")
    assert "others may read it" in found.text


def test_a_server_that_never_sent_a_receipt_is_doubted_by_the_age_of_what_waits(tmp_path):
    found = []

    async def wait(daemon, clock):
        review = Reviewed(sample=None, operator="ab", utc_ns=clock.utc_ns())
        await daemon._store.run(lambda store: store.records.append(review))
        for hours in (0, 2, 40 * 24):
            clock.advance(3600 * hours)
            await daemon.trust.refresh()
            found.append(daemon.trust._look()[4])

    looked(tmp_path, after=wait, publish=BrokerConfig(host="127.0.0.1", port=9))
    assert [one.text.partition(":")[0] for one in found] == [
        "not connected, 1 records wait for a receipt",
        "1 records wait for a receipt, none came for 2 h",
        "1 records wait for a receipt, none came for 40 days",
    ]
    assert found[2].level is TrustLevel.BAD
