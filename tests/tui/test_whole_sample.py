"""A whole small sample by keys only, from receipt to review, on the smallest screen."""

import asyncio

import pytest

from ramphold.control import bench_methods, mass_methods, sample_methods
from ramphold.sample import Load, SampleState
from ramphold_tui.screens import WorksheetScreen
from ramphold_tui.widgets import BigText, Rows, WordLine
from support.dialogs import asks

pytestmark = pytest.mark.slow

# In g; the sieves hold 100 g of which 95.6 lie between No. 20 and No. 40: by hand.
HELD = {"16": 0.0, "20": 3.2, "25": 25.6, "30": 35.0, "35": 24.0, "40": 11.0, "50": 1.1, "pan": 0.1}
TARES = {item: 101.0 + 2 * number for number, item in enumerate(HELD)}


class Hands:
    """Types, and puts masses on the balance; each step waits for what the screen says of it."""

    def __init__(self, bench, app, pilot, until):
        self.bench, self.app, self.pilot = bench, app, pilot
        self._until = until

    async def sees(self, title):
        await self._until(self.pilot, lambda: asks(self.app, title))

    async def reads(self, word, name="todo"):
        def there():
            found = self.app.screen.query(f"#{name}")
            return bool(found) and found.first(BigText).text == word

        await self._until(self.pilot, there)

    async def hears(self, start):
        line = self.app.screen.query_one("#said", WordLine)
        await self._until(self.pilot, lambda: line.left.startswith(start))

    async def types(self, *fields):
        for field in fields:
            await self.pilot.press("end", "ctrl+u", *field, "enter")

    async def press(self, *keys):
        await self.pilot.press(*keys)

    async def weighs(self, word, mass_g):
        await self.bench.weigh(mass_g)
        await self.reads(word, "what")
        await self.press("enter")
        await self.reads("KEPT", "what")
        await self.hears(f"kept: {mass_g:.3f} g")


async def has_cylinder(bench):
    """The bench has a density cylinder of about 100 cm3."""
    for load, mass_g in ((Load.TARE, 50.0), (Load.GROSS, 149.8)):
        wanted = mass_methods.WeighParams(
            test="cylinder", item="C1", load=load, mass_g=mass_g, operator="KL"
        )
        await bench.client.call(mass_methods.WEIGH, wanted)
    wanted = bench_methods.CalibrateCylinderParams(cylinder="C1", temp_c=21.5, operator="KL")
    return (await bench.client.call(bench_methods.CALIBRATE_CYLINDER, wanted)).volume_cm3


async def receives(hands):
    await hands.press("w")
    await hands.reads("NO SAMPLE")
    await hands.press("f7")
    await hands.sees("Who works here?")
    await hands.types("KL")
    await hands.sees("A sample came in")
    await hands.types("26-0417", "pit 3", "sand", "20/40", "", "")
    await hands.types("sieve analysis, bulk density, turbidity, crush", "")
    await hands.sees("Its receipt")
    await hands.types("", "", "", "", "")
    await hands.reads("NO.16 EMPTY")


async def sieves(hands):
    await hands.press("enter")
    for item, tare_g in TARES.items():
        await hands.weighs("PAN EMPTY" if item == "pan" else f"NO.{item} EMPTY", tare_g)
    await hands.weighs("CHARGE", 100.0)
    await hands.press("w")
    await hands.reads("SHAKE")
    await hands.press("enter")
    await hands.hears("the shaker runs from now, 10 min")
    await hands.bench.skip(600)
    await hands.reads("NO.16 FULL")
    await hands.press("enter")
    for item, tare_g in TARES.items():
        mass_g = round(tare_g + HELD[item], 3)
        await hands.weighs("PAN FULL" if item == "pan" else f"NO.{item} FULL", mass_g)
    await hands.press("w")


async def measures_density(hands, volume_cm3):
    await hands.reads("CYLINDER")
    await hands.press("enter")
    await hands.sees("Density cylinder")
    await hands.press("enter")
    await hands.reads("CYL. EMPTY")
    await hands.press("enter")
    await hands.weighs("CYL. EMPTY", 40.0)
    await hands.weighs("CYL. FULL", round(40.0 + 1.6 * volume_cm3, 3))
    await hands.press("w")


async def crushes(hands):
    await hands.reads("PLAN")
    await hands.press("enter")
    await hands.sees("Plan a stress")
    await hands.types("2000psi", "1")
    await hands.reads("SPECIMEN")
    await hands.press("enter")
    await hands.sees("A specimen of")
    await hands.press("enter")
    await hands.hears("recorded: 2K-1 at 2 000 psi")
    await hands.press("enter")
    await hands.hears("ticked: cut between")
    await hands.press("enter")
    await hands.weighs("CHARGE", 39.5)
    await hands.bench.pass_time(3)  # in which the load rests
    await hands.press("enter")
    await hands.sees("Follow the crush of")
    await hands.press("right", "enter")
    await hands.hears("run 1 is being followed")
    while hands.bench.daemon.press.live:
        await hands.bench.pump()
        await asyncio.sleep(0)  # the screen lives in the same loop
    await hands.bench.daemon.press.written()
    await hands.reads("RELEASE FULLY", "cue")
    for _ in range(20):
        await hands.bench.pump()
    await hands.reads("PASSED", "cue")
    await hands.press("enter")
    await hands.reads("SHAKE")
    await hands.press("enter")
    await hands.hears("the shaker runs")
    await hands.bench.skip(600)
    await hands.reads("PAN EMPTY")
    await hands.press("enter")
    await hands.weighs("PAN EMPTY", 112.436)
    await hands.weighs("PAN FULL", 114.411)
    await hands.press("w")


async def reviews(hands):
    await hands.reads("REVIEW")
    await hands.press("enter")
    await hands.sees("Reviewed: the whole sample")
    await hands.types("AB", "")
    await hands.hears("reviewed by AB")
    await hands.reads("REPORT")


def test_a_whole_small_sample_by_keys_only(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            volume_cm3 = await has_cylinder(bench)
            hands = Hands(bench, app, pilot, until)
            await receives(hands)
            await sieves(hands)
            await measures_density(hands, volume_cm3)
            await hands.reads("ENTER")
            await hands.press("enter")
            await hands.sees("Enter ")
            await hands.types("60")
            await crushes(hands)
            await reviews(hands)

            wanted = sample_methods.SampleParams(sample="26-0417")
            record = (await bench.client.call(sample_methods.SAMPLE, wanted)).record
            assert record.state is SampleState.REVIEWED
            assert record.sieving.analysis.in_size_pct == pytest.approx(95.6)
            assert record.density.bulk_density_g_cm3 == pytest.approx(1.6, abs=1e-4)
            (specimen,) = record.specimens
            # 1.975 g of 39.5 g are 5 %: by hand.
            assert specimen.fines_pct == pytest.approx(5.0)
            assert specimen.counts
            assert specimen.findings == ()
            assert {mass.operator for mass in record.masses} == {"KL"}
            assert isinstance(app.screen, WorksheetScreen)
            assert any("5.00 %  counts" in row for row in app.screen.query_one(Rows).rows)

    asyncio.run(flow())
