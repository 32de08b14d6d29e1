"""What a user's hand can do on the simulated bench: load its balance, choose its sand."""

import asyncio

import pytest

from ramphold.control import run_methods, simulated_methods, specimen_methods
from ramphold.control.simulated_methods import OnBalance
from ramphold.demo import SimulatedBench
from ramphold.sample import CRUSH, CYLINDER, DENSITY, SIEVING, Load

PLACES = [
    (CRUSH, "charge", Load.NET),
    (CRUSH, "pan", Load.TARE),
    (CRUSH, "pan", Load.GROSS),
    (CRUSH, "retained", Load.GROSS),
    (DENSITY, "fill", Load.GROSS),
    (SIEVING, "20", Load.TARE),
    (SIEVING, "20", Load.GROSS),
    (SIEVING, "pan", Load.NET),
    (CYLINDER, "C1", Load.TARE),
    ("acid solubility", "before", Load.NET),
    ("anything else", "x", Load.NET),
]


@pytest.mark.parametrize("place", PLACES)
def test_every_place_is_loaded_though_nothing_was_weighed_before(tmp_path, place):
    test, item, load = place

    async def body():
        async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
            loaded = await bench.ask(
                simulated_methods.LOAD_BALANCE,
                act=OnBalance.PUT, test=test, item=item, load=load, specimen=7, target_g=39.52,
            )  # fmt: skip
            assert loaded.mass_g == bench.ports.balance.mass_g > 0
            if item == "charge":
                assert loaded.mass_g == pytest.approx(39.52, abs=0.05)

    asyncio.run(body())


def test_a_weaker_sand_gives_more_fines_at_the_same_stress(tmp_path):
    async def crushed_g(quality):
        folder = tmp_path / quality
        folder.mkdir()
        async with SimulatedBench(folder, seed=3, speed=None) as bench:
            await bench.ask(simulated_methods.CHOOSE_SAND, quality=quality)
            added = await bench.ask(specimen_methods.ADD_SPECIMEN, label="S-1", target_psi=4000.0)
            await bench.ask(run_methods.START_RUN, specimen=added.specimen, hold_s=5)
            while bench.daemon.press.live:
                await bench.pump()
            # What is chosen now is the next cell's, not that of the crushed one.
            await bench.ask(simulated_methods.CHOOSE_SAND, quality="strong")
            return bench.crushed_g(40.0)

    async def body():
        return [await crushed_g(one) for one in simulated_methods.SandQuality]

    weak_g, fair_g, strong_g = asyncio.run(body())
    # At 4000 psi: a tenth is crushed at 3800, 6000, 9500 psi.
    assert weak_g > 4.0 > fair_g > 2 * strong_g > 0
