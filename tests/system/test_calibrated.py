"""The calibration of a real daemon, through its socket: corrected, checked, recorded, stored."""

import asyncio
import datetime as dt
import subprocess
import sys

import pytest

from ramphold.control import (
    act,
    bench_methods,
    instrument_methods,
    run_methods,
    run_queries,
    specimen_methods,
)
from ramphold.core import Calibration
from ramphold.store import Store
from ramphold.wire import Certificate, CertificatePoint

pytestmark = pytest.mark.slow


def certificate(name, c1, due):
    """A gauge that reads `c1` times the force."""
    return Certificate(
        id=name,
        instrument="load indicator",
        serial="7",
        by="us",
        reference="weights",
        date=dt.date(2026, 1, 1),
        due=due,
        unit="lbf",
        reading_unit="lbf",
        model="linear",
        coefficients=(0.0, c1),
        residual_sd=1.0,
        coverage_factor=2.0,
        expanded_uncertainty=25.0,
        points=(
            CertificatePoint(run=1, force=100.0, reading=100.0 * c1),
            CertificatePoint(run=1, force=50_000.0, reading=50_000.0 * c1),
        ),
    )


GOOD = certificate("C-1", 1.25, dt.date(2100, 1, 1))
LATE = certificate("C-1", 1.25, dt.date(2026, 1, 2))


async def ramphold(site, *arguments):
    """Run a command in its own process; its exit status and output."""
    done = await asyncio.to_thread(
        subprocess.run,
        [sys.executable, "-m", "ramphold.cli", *map(str, arguments)],
        cwd=site.folder,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def put(site, held):
    (site.folder / "certificates").mkdir(exist_ok=True)
    (site.folder / "certificates/one.toml").write_text(held.text())


async def run_over(client):
    """Start and end a run; its plan's calibration, and whether the check passed."""
    specimen = specimen_methods.AddSpecimenParams(label="s", target_psi=400, operator="ab")
    made = await client.call(specimen_methods.ADD_SPECIMEN, specimen)
    start = run_methods.StartRunParams(specimen=made.specimen, operator="ab", target_psi=400)
    await client.call(run_methods.START_RUN, start)
    await asyncio.sleep(0.3)
    ended = await client.call(
        run_methods.END_RUN, run_methods.EndRunParams(reason="seen", operator="ab")
    )
    run = (await client.call(run_queries.RUN, run_queries.RunParams(run=ended.run))).run
    check = next(one for one in ended.assessment.checks if one.name == "calibration")
    return run, check


def test_readings_are_corrected_raw_digits_kept_and_the_certificate_named_by_the_run(site):
    put(site, GOOD)

    async def body():
        site.start()
        async with site.connected() as client:
            async with site.sending(force_lbf=1250.0):
                await site.load_is(client, "open")
                await asyncio.sleep(0.3)
                live = await client.call(run_methods.SNAPSHOT, act.NoParams())
                assert live.force_lbf == 1000.0
                run, check = await run_over(client)
            assert run.plan.calibration.certificate == "C-1"
            assert check.passed is True
            book = await client.call(bench_methods.BENCH_RECORD, act.NoParams())
            assert [one.certificate for one in book.certificates] == ["C-1"]
            return run.id

    number = asyncio.run(body())
    site.close()
    with Store.open(site.folder / "runs.sqlite3") as store:
        newest = store.runs.readings(number)[-1]
    assert (newest.force_lbf, newest.raw, newest.exponent, newest.unit) == (
        1000.0,
        12500,
        -1,
        "lbf",
    )


@pytest.mark.parametrize("held", [LATE, None], ids=["past its day", "missing"])
def test_a_certificate_past_its_day_or_missing_fails_the_check_of_a_run(site, held):
    if held:
        put(site, held)

    async def body():
        site.start()
        async with site.connected() as client, site.sending():
            await site.load_is(client, "open")
            return await run_over(client)

    run, check = asyncio.run(body())
    assert check.passed is False
    assert (check.value is None) == (held is None)
    assert (run.plan.calibration == Calibration()) == (held is None)


def test_daily_checks_read_the_instrument_and_a_zero_outlives_the_daemon(site):
    put(site, GOOD)
    say = ("--config", "bench.toml", "--by", "ab")

    async def body():
        site.start()
        async with site.connected() as client:
            await site.load_is(client, "open")
            async with site.sending(force_lbf=12.5):
                await asyncio.sleep(1)
                assert await ramphold(site, "bench", "zero", *say) == (
                    0,
                    "load zero: good, reads 12.5 where 0 was expected, +0.020 % off\n",
                )
            async with site.sending(force_lbf=12.5 + 1260.0):
                await asyncio.sleep(2.1)
                assert await ramphold(site, "bench", "span", "1000lbf", *say) == (
                    0,
                    "load span: warning, reads 1008 where 1000 was expected, +0.800 % off\n",
                )
                status, told = await ramphold(site, "bench", "span", "900lbf", *say)
                assert (status, told.partition(",")[0]) == (1, "load span: failed")
            await asyncio.sleep(1.2)
            status, told = await ramphold(site, "bench", "span", "900lbf", *say)
            assert (status, "the load says nothing" in told) == (2, True)
        site.daemon.terminate()
        site.daemon.wait(5)
        site.start()
        async with site.connected() as client, site.sending(force_lbf=12.5 + 1250.0):
            await site.load_is(client, "open")
            await asyncio.sleep(0.3)
            live = await client.call(run_methods.SNAPSHOT, act.NoParams())
            assert live.force_lbf == 1000.0

    asyncio.run(body())


def test_a_check_weight_is_taken_from_the_balance_at_rest(site):
    async def body():
        site.start()
        site.bench.serve_on(asyncio.get_running_loop())
        say = ("--config", "bench.toml", "--by", "ab")
        site.bench.balance.put(100.003)
        async with site.connected() as client:
            for _ in range(100):
                found = await client.call(instrument_methods.INSTRUMENTS, act.NoParams())
                if any(one.name == "balance" and one.value for one in found.instruments):
                    break
                await asyncio.sleep(0.05)
            # By `daily_check`: 0.002 % warns, 0.005 % fails.
            assert await ramphold(site, "bench", "weight", "100g", *say) == (
                0,
                "check weight: warning, reads 100.003 where 100 was expected, +0.003 % off\n",
            )
            site.bench.balance.put(100.003, stable=False)
            await asyncio.sleep(1)
            status, told = await ramphold(site, "bench", "weight", "100g", *say)
            assert (status, "shows no stable mass" in told) == (2, True)

    asyncio.run(body())


def test_check_record_and_calibrate_work_through_the_socket_while_the_daemon_holds_the_ports(site):
    async def body():
        site.start()
        async with site.connected() as client, site.sending(force_lbf=1250.0):
            await site.load_is(client, "open")
            await asyncio.sleep(1)
            status, told = await ramphold(site, "check", "--config", "bench.toml")
            assert "told by the daemon" in told
            assert "raw         1250.0 lbf" in told
            assert "no certificate" in told
            status, told = await ramphold(
                site, "record", "--config", "bench.toml", "--seconds", "0.5", "--output", "a.txt"
            )
            assert status == 0
            kept = (site.folder / "a.txt").read_text()
            assert "# origin: recorded" in kept
            assert kept.count("= good 1250.0 lbf") > 20
            points = ["run,force,reading"]
            points += [
                f"{r},{f},{1.25 * f}" for r in (1, 2, 3) for f in (9e3, 18e3, 3e4, 4e4, 45e3)
            ]
            (site.folder / "points.csv").write_text("\n".join(points))
            status, told = await ramphold(
                site, "calibrate", "--config", "bench.toml", "--points", "points.csv",
                "--id", "C-9", "--reference-pct", "0.1", "--resolution", "0.1", "--serial", "7",
                "--by", "ab", "--laboratory", "we", "--reference", "weights",
            )  # fmt: skip
            assert (status, f"certificate C-9 in {site.folder}/certificates" in told) == (0, True)
            await asyncio.sleep(0.2)
            live = await client.call(run_methods.SNAPSHOT, act.NoParams())
            assert live.force_lbf == pytest.approx(1000.0, abs=1e-6)

    asyncio.run(body())
