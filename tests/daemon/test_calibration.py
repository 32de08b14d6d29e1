"""The load's zero and its certificates, taken and written down."""

import asyncio
import contextlib
import datetime as dt

import pytest

from ramphold.control.bench_methods import ZERO_LOAD, TakeCertificateParams, ZeroLoadParams
from ramphold.control.handlers import Handlers
from ramphold.core import Reading
from ramphold.daemon._reading_log import ReadingLog
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.calibration import CalibrationService
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import Certificates
from ramphold.daemon.config import Lbf
from ramphold.daemon.loads.indicator_load import IndicatorConfig
from ramphold.errors import CommandRefused, InputError
from ramphold.testing import ManualClock
from support.certificates import certificate
from support.configs import bench_config
from support.per_test import with_opened

CONFIG = bench_config(load=IndicatorConfig(port="none", capacity=Lbf(50_000)))
ZERO = ZeroLoadParams(operator="ab")


class Bench:
    """A calibration service over a real store and a real folder."""

    def __init__(self, folder, store):
        self.clock = ManualClock(utc_ns=1_795_611_600 * 10**9)
        self.store = store
        self.live_run = None
        self.in_force = CalibrationInForce(CONFIG, certificates := Certificates(folder))
        self.log = ReadingLog("lbf")
        self.service = CalibrationService(
            certificates,
            self.in_force,
            lambda wanted: self.log.after(wanted.after_ns, wanted.limit),
            store,
            self.clock,
        )
        self.handlers = Handlers(live_run=lambda: self.live_run)
        self.service.answer(self.handlers)

    def read(self, *forces_lbf):
        """Let the load read these, ten a second."""
        for force_lbf in forces_lbf:
            self.clock.advance(0.1)
            one = Reading(t_ns=self.clock.now_ns(), force_lbf=force_lbf)
            self.log.take(one, self.in_force.correct(one))

    async def book(self):
        return await self.store.run(lambda store: store.bench.record())


@contextlib.asynccontextmanager
async def bench(tmp_path):
    store = await StoreThread.open(tmp_path / "runs.sqlite3")
    try:
        made = Bench(tmp_path / "certificates", store)
        await made.service.restore()
        yield made
    finally:
        await store.aclose()


def on_bench(*certificates):
    """Run a test's coroutine with a bench of its own, calibrated by these."""

    def decorate(test):
        def run(tmp_path):
            (tmp_path / "certificates").mkdir()
            for one in certificates:
                (tmp_path / "certificates" / f"{one.id}.toml").write_text(one.text())

            with_opened(bench)(test)(tmp_path)

        run.__name__ = test.__name__
        return run

    return decorate


# Full range: 50 000 lbf, which the gauge reads as 100 000. By `daily_check`: 0.05 % of that warns
# and 0.1 % fails (the latter from memory: ISO 7500-1, class 1).
@pytest.mark.parametrize(("reading", "verdict"), [(49, "good"), (60, "warning"), (99, "warning")])
def test_a_zero_within_its_limits_is_kept_and_counted_from(tmp_path, reading, verdict):
    @on_bench(certificate())
    async def test(made):
        made.read(*[reading] * 20)
        kept = await made.service.zero(ZERO)
        assert (kept.measured, kept.expected, kept.base) == (reading, 0.0, 100_000.0)
        assert (kept.verdict, kept.operator) == (verdict, "ab")
        assert kept.off_lbf == pytest.approx(reading / 2)
        assert (
            made.in_force.correct(Reading(t_ns=0, force_lbf=reading + 2000.0)).force_lbf == 1000.0
        )
        assert (await made.book()).checks == (kept,)

    test(tmp_path)


@on_bench(certificate())
async def test_a_zero_that_has_moved_too_far_is_written_down_and_not_counted_from(made):
    made.read(*[150.0] * 20)
    kept = await made.service.zero(ZERO)
    assert (kept.verdict, kept.off_pct) == ("failed", pytest.approx(0.15))
    assert made.in_force.zero == 0.0


@on_bench(certificate())
async def test_a_person_may_take_it_anyway_and_both_are_written_down(made):
    made.read(*[150.0] * 20)
    await made.service.zero(ZeroLoadParams(operator="ab", anyway="a new cable"))
    assert made.in_force.zero == 150.0
    said = [(check.verdict, check.anyway) for check in (await made.book()).checks]
    assert said == [("failed", None), ("good", "a new cable")]


@on_bench(certificate())
async def test_a_zero_within_its_limits_needs_no_reason_and_keeps_none(made):
    made.read(*[40.0] * 20)
    kept = await made.service.zero(ZeroLoadParams(operator="ab", anyway="a new cable"))
    assert (kept.verdict, kept.anyway) == ("good", None)


@on_bench(certificate())
async def test_one_spike_does_not_move_the_zero(made):
    made.read(*[10.0] * 9, 30_000.0, *[10.0] * 9)
    assert (await made.service.zero(ZERO)).measured == 10.0


@on_bench(certificate())
async def test_a_load_that_moves_or_says_nothing_gives_no_zero(made):
    made.read(10.0, 20.0)
    with pytest.raises(CommandRefused, match="the load gave 2 readings in 2 s: check"):
        await made.service.zero(ZERO)
    made.read(*(100.0 * n for n in range(20)))
    with pytest.raises(CommandRefused, match="the load moves: expected it at rest"):
        await made.service.zero(ZERO)
    assert (await made.book()).checks == ()


@on_bench(certificate())
async def test_while_a_run_is_live_no_zero_is_taken(made):
    made.read(*[10.0] * 20)
    made.live_run = 3
    with pytest.raises(CommandRefused, match="run 3 is live: take the zero when its record has"):
        await made.handlers.call(ZERO_LOAD, ZERO)
    assert made.in_force.zero == 0.0
    assert (await made.book()).checks == ()


@on_bench()
async def test_without_a_certificate_a_zero_is_checked_against_nothing_and_nothing_is_corrected(
    made,
):
    made.read(*[20.0] * 20)
    assert (await made.service.zero(ZERO)).verdict == "good"
    assert made.in_force.correct(Reading(t_ns=0, force_lbf=1020.0)).force_lbf == 1020.0


def test_the_newest_zero_is_counted_from_after_a_restart(tmp_path):
    (tmp_path / "certificates").mkdir()
    (tmp_path / "certificates/C-1.toml").write_text(certificate().text())

    async def body():
        async with bench(tmp_path) as made:
            made.read(*[40.0] * 20)
            await made.service.zero(ZERO)
            made.read(*[900.0] * 20)
            await made.service.zero(ZERO)
        async with bench(tmp_path) as again:
            assert again.in_force.zero == 40.0
        # Another certificate has its own zero, whatever was taken under the one before.
        newer = certificate("C-2", date=dt.date(2026, 11, 20), zero=5.0)
        (tmp_path / "certificates/C-2.toml").write_text(newer.text())
        async with bench(tmp_path) as renewed:
            assert (renewed.in_force.certificate.id, renewed.in_force.zero) == ("C-2", 5.0)

    asyncio.run(body())


@on_bench(certificate(), certificate("W-1", unit="g", reading_unit="g"))
async def test_a_certificate_found_in_its_folder_is_written_down_once(made):
    await made.service.restore()
    held = (await made.book()).certificates
    assert [(one.certificate, one.instrument, one.due) for one in held] == [
        ("C-1", "load: load cell", "2027-11-01"),
        ("W-1", "balance: load cell", "2027-11-01"),
    ]


@on_bench(certificate())
async def test_a_certificate_that_is_handed_in_is_kept_written_down_and_in_force(made):
    newer = certificate("C-2", date=dt.date(2026, 11, 20), coefficients=(0.0, 4.0))
    kept = await made.service.take(TakeCertificateParams(operator="ab", text=newer.text()))
    assert (kept.certificate, kept.operator) == ("C-2", "ab")
    assert made.in_force.correct(Reading(t_ns=0, force_lbf=1000.0)).force_lbf == 250.0
    with pytest.raises(InputError, match="id C-2 is taken"):
        await made.service.take(TakeCertificateParams(operator="ab", text=newer.text()))


@on_bench(certificate())
async def test_a_certificate_of_the_balance_leaves_the_loads_zero_alone(made):
    made.read(*[40.0] * 20)
    await made.service.zero(ZERO)
    weights = certificate("W-1", unit="g", reading_unit="g")
    await made.service.take(TakeCertificateParams(operator="ab", text=weights.text()))
    assert (made.in_force.balance.id, made.in_force.zero) == ("W-1", 40.0)


@on_bench(certificate())
async def test_a_certificate_of_other_readings_is_refused_with_its_reason(made):
    counts = certificate("C-2", date=dt.date(2026, 11, 20), reading_unit="count")
    with pytest.raises(CommandRefused, match="not kept: certificate C-2 has reading_unit"):
        await made.service.take(TakeCertificateParams(operator="ab", text=counts.text()))
    assert made.in_force.certificate.id == "C-1"
    made.in_force.reload()
    assert made.in_force.certificate.id == "C-1"
