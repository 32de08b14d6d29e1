"""A mass is captured from what the balance says, and a print repeated is no new weighing."""

import asyncio
import datetime as dt

import pytest

from ramphold.control.handlers import Handlers
from ramphold.control.mass_methods import WEIGH, WeighParams
from ramphold.core import MassReading, MassState
from ramphold.daemon._balance_now import BalanceNow
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BalanceConfig
from ramphold.daemon.records import RecordService
from ramphold.errors import CommandRefused
from ramphold.sample import CRUSH, Load
from ramphold.testing import ManualClock
from ramphold.wire import Certificate, CertificatePoint
from support.configs import bench_config
from support.specimens import add_specimen

PRINTS = BalanceConfig(port="none", profile="state-comma", mode="print key")
STREAMS = BalanceConfig(port="none", profile="mark-while-moving", mode="continuous")


def at_bench(balance, test, tmp_path, certificate=None):
    """Run a test's coroutine at a balance over a real store, and a specimen in it."""

    async def body():
        store = await StoreThread.open(tmp_path / "runs.sqlite3")
        try:
            clock = ManualClock()
            now = BalanceNow(balance, clock, lambda: certificate)
            await store.run(add_specimen)
            await test(At(now, store, clock))
        finally:
            await store.aclose()

    asyncio.run(body())


class At:
    """A balance, and what is kept of it."""

    def __init__(self, balance, store, clock):
        self.balance, self.store = balance, store
        self.handlers = Handlers()
        RecordService(bench_config(), balance, store, clock).answer(self.handlers)

    def show(self, mass_g, state=MassState.STABLE):
        """Let the balance say something."""
        self.balance.take(MassReading(t_ns=0, mass_g=mass_g, state=state, line=b"line"))

    async def charge(self):
        return await self.handlers.call(
            WEIGH, WeighParams(test=CRUSH, item="charge", specimen=1, operator="ab")
        )

    async def pan(self):
        return await self.handlers.call(
            WEIGH, WeighParams(test=CRUSH, item="pan", load=Load.TARE, specimen=1, operator="ab")
        )


def test_a_print_that_is_repeated_is_no_new_weighing(tmp_path):
    async def test(at):
        at.show(39.525)
        await at.charge()
        at.show(39.525)
        with pytest.raises(CommandRefused, match=r"39.525 g is kept already .*: print the empty"):
            await at.pan()

    at_bench(PRINTS, test, tmp_path)


def test_of_two_weighings_that_are_asked_for_at_once_one_is_kept(tmp_path):
    async def test(at):
        at.show(39.525)
        kept, refused = await asyncio.gather(at.charge(), at.pan(), return_exceptions=True)
        assert kept.mass_g == 39.525
        assert "39.525 g is kept already" in str(refused)

    at_bench(PRINTS, test, tmp_path)


@pytest.mark.parametrize("between_g", [0.0, 112.436])
def test_the_same_mass_printed_after_another_is_a_new_weighing(tmp_path, between_g):
    async def test(at):
        at.show(39.525)
        await at.charge()
        at.show(between_g)
        at.show(39.525)
        assert (await at.pan()).mass_g == 39.525

    at_bench(PRINTS, test, tmp_path)


def test_what_is_no_mass_does_not_make_the_same_print_new(tmp_path):
    async def test(at):
        at.show(39.525)
        await at.charge()
        at.show(None, MassState.GARBLED)
        at.show(39.525)
        with pytest.raises(CommandRefused, match="kept already"):
            await at.pan()

    at_bench(PRINTS, test, tmp_path)


def test_a_balance_that_sends_by_itself_gives_its_newest_stable_mass(tmp_path):
    async def test(at):
        at.show(39.525, MassState.MOVING)
        with pytest.raises(CommandRefused, match="is moving: wait until it is stable"):
            await at.charge()
        at.show(39.525)
        assert (await at.charge()).mass_g == 39.525

    at_bench(STREAMS, test, tmp_path)


SCALE = Certificate(
    id="B-1", instrument="balance", serial="7", by="us", reference="weights",
    date=dt.date(2026, 11, 1), due=dt.date(2026, 12, 5), unit="g", reading_unit="g", model="linear",
    coefficients=(0.002, 1.0001), residual_sd=0.001, coverage_factor=2.0,
    expanded_uncertainty=0.002,
    points=(
        CertificatePoint(run=1, force=10.0, reading=10.003),
        CertificatePoint(run=1, force=200.0, reading=200.022),
    ),
)  # fmt: skip


def test_a_mass_is_corrected_by_the_balances_certificate_and_what_was_shown_is_kept(tmp_path):
    async def test(at):
        at.show(39.525)
        await at.charge()
        kept = await at.store.run(lambda store: store.records.one(2))
        # (39.525 - 0.002) / 1.0001, by hand.
        assert kept.mass_g == pytest.approx(39.519048, abs=5e-7)
        assert (kept.shown_g, kept.certificate, kept.line) == (39.525, "B-1", b"line")
        at.show(39.525)
        with pytest.raises(CommandRefused, match="is kept already"):
            await at.pan()

    at_bench(PRINTS, test, tmp_path, SCALE)


def test_a_mass_without_a_certificate_is_what_the_balance_showed(tmp_path):
    async def test(at):
        at.show(39.525)
        await at.charge()
        kept = await at.store.run(lambda store: store.records.one(2))
        assert (kept.mass_g, kept.shown_g, kept.certificate) == (39.525, None, None)

    at_bench(PRINTS, test, tmp_path)
