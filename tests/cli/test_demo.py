"""`ramphold demo`: one specimen from charge to fines, the same for a seed at any speed."""

import asyncio
import sqlite3

import pytest

from ramphold.control import mass_methods, run_methods, specimen_methods
from ramphold.demo import SimulatedBench
from ramphold.store import Store

pytestmark = pytest.mark.slow


def test_the_demo_ends_with_one_json_object_that_has_the_specimens_result(ramphold):
    told = ramphold("demo", "--headless", "--speed", "5000", "--seed", "3", "--json")
    assert told.status == 0
    assert told.out.count("\n") == 1
    assert told.json["seed"] == 3
    assert told.json["verdict"] == "pass"
    pan_g = told.json["pan_full_g"] - told.json["pan_empty_g"]
    assert told.json["fines_pct"] == pytest.approx(100 * pan_g / told.json["charge_g"])


def test_a_seed_gives_the_same_result_at_any_speed(ramphold):
    fast = ramphold("demo", "--headless", "--speed", "50000", "--json").json
    assert ramphold("demo", "--headless", "--speed", "400", "--json").json == fast
    assert ramphold("demo", "--headless", "--speed", "50000", "--seed", "2", "--json").json != fast


def test_the_run_of_the_demo_is_all_in_its_database(ramphold, tmp_path):
    demo = ramphold("demo", "--headless", "--speed", "5000", "--folder", tmp_path, "--json").json
    with Store.open(tmp_path / "runs.sqlite3") as store:
        (run,) = store.runs.page()
        readings = store.runs.readings(run.id)
        masses = {mass.item: (mass.mass_g, mass.line) for mass in store.masses.of(1, run.specimen)}
    assert run.assessment.hold_s == demo["hold_s"]
    # Ten a second from before contact to the release, none missing.
    assert len(readings) == (readings[-1].t_ns - readings[0].t_ns) / 1e8 + 1
    assert masses["charge"] == (demo["charge_g"], f"S S {demo['charge_g']:10.3f} g".encode())
    raw = sqlite3.connect(tmp_path / "runs.sqlite3")
    assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    raw.close()


def test_a_folder_that_can_not_be_made_is_refused_in_one_line(ramphold, tmp_path):
    (tmp_path / "file").write_text("")
    told = ramphold("demo", "--headless", "--folder", tmp_path / "file" / "sub")
    told.assert_refused("can't be made a folder")


def test_each_run_on_the_simulated_bench_finds_a_bed_of_its_own(tmp_path):
    async def crushed(bench, number):
        specimen = specimen_methods.AddSpecimenParams(
            label=f"{number}", target_psi=2000.0, operator="KL"
        )
        await bench.client.call(specimen_methods.ADD_SPECIMEN, specimen)
        await bench.client.call(
            run_methods.START_RUN,
            run_methods.StartRunParams(specimen=number, operator="KL", hold_s=5),
        )
        await bench.pump()
        uncrushed_g = bench.crushed_g(40.0)
        while bench.daemon.press.live:
            await bench.pump()
        await bench.daemon.press.written()
        return uncrushed_g, bench.crushed_g(40.0)

    async def body():
        async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
            return [await crushed(bench, number) for number in (1, 2)]

    (first_g, first_crushed_g), (second_g, _) = asyncio.run(body())
    # What passes the sieve before a crush is little, and as much of the second bed as of the first.
    assert first_g == pytest.approx(second_g, abs=0.1)
    assert first_crushed_g > 2 * max(first_g, second_g)


def test_equal_masses_weighed_one_after_the_other_are_both_kept(tmp_path):
    async def charge(bench, number):
        specimen = specimen_methods.AddSpecimenParams(
            label=f"{number}", target_psi=2000.0, operator="KL"
        )
        await bench.client.call(specimen_methods.ADD_SPECIMEN, specimen)
        await bench.weigh(39.52)
        wanted = mass_methods.WeighParams(
            test="crush", item="charge", specimen=number, operator="KL"
        )
        return (await bench.client.call(mass_methods.WEIGH, wanted)).mass_g

    async def body():
        async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
            return [await charge(bench, number) for number in (1, 2)]

    assert asyncio.run(body()) == [39.52, 39.52]
