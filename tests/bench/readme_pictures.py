"""Draws the pictures of README, on the real daemon and the simulated bench.

    python tests/bench/readme_pictures.py tui/pictures

The press in the ramp and in the hold, worksheet and results as SVG, the first page of the report as
PNG (that needs pdftoppm, of the package poppler-utils).
"""

import argparse
import asyncio
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from _screen_svg import screen_svg

from pictures import DAYS_LATER_S, SEED, fill, settle
from ramphold.clock import NS_PER_S
from ramphold.control import bench_methods, run_methods, sample_methods, specimen_methods
from ramphold.core import RunState
from ramphold.demo import SimulatedBench
from ramphold_tui.app import make_app
from ramphold_tui.theme import DARK

_SIZE = (100, 30)
_RAMP_PSI = 2_600.0
_HOLD_S = 45.0
_DOTS_PER_INCH = 72
#: The client's sample of the demo; the control sand is the first.
_SAMPLE = "#2"
#: The keys to each place.
_WORKSHEET, _RESULTS = ("w", "down"), ("r", "right")


class Painter:
    """The screen, and the folder that its pictures go to."""

    def __init__(self, bench: SimulatedBench, pilot, folder: Path) -> None:
        self._bench = bench
        self._pilot = pilot
        self._folder = folder

    async def draw(self, name: str, keys: tuple[str, ...]) -> None:
        """Go to a place, draw it, and come back to the press."""
        for key in keys:
            await self._pilot.press(key)
            await settle(self._pilot)
        await self._bench.pump()
        await settle(self._pilot)
        (self._folder / f"{name}.svg").write_text(screen_svg(self._pilot.app))
        await self._pilot.press("f2")


async def received(bench: SimulatedBench) -> int:
    """A second sample, as far as a specimen to crush; its number."""
    ask = bench.client.call
    await bench.pass_time(3.0)
    await ask(bench_methods.ZERO_LOAD, bench_methods.ZeroLoadParams(operator="KL"))
    wanted = sample_methods.AddSampleParams(
        laboratory_number="26-0418", client_reference="pit 4", size="20/40", tests=("crush",),
        operator="KL",
    )  # fmt: skip
    sample = await ask(sample_methods.ADD_SAMPLE, wanted)
    planned = sample_methods.PlanStressParams(
        sample=sample.sample, stress_psi=4_000.0, operator="KL"
    )
    await ask(sample_methods.PLAN_STRESS, planned)
    specimen = specimen_methods.AddSpecimenParams(
        sample=sample.sample, label="4K-1", target_psi=4_000.0, operator="KL"
    )
    return (await ask(specimen_methods.ADD_SPECIMEN, specimen)).specimen


async def crushed(bench: SimulatedBench, specimen: int, painter: Painter) -> None:
    """The press in the ramp, and in the hold."""
    bench.lay_bed()
    begun = run_methods.StartRunParams(specimen=specimen, operator="KL")
    await bench.client.call(run_methods.START_RUN, begun)
    while ((await bench.pump()).stress_psi or 0.0) < _RAMP_PSI:
        pass
    await painter.draw("ramp", ("f2",))
    while (await bench.pump()).state is not RunState.HOLD:
        pass
    began_ns = bench.clock.now_ns()
    while bench.clock.now_ns() < began_ns + _HOLD_S * NS_PER_S:
        await bench.pump()
    await painter.draw("hold", ("f2",))


def report(work: Path, folder: Path) -> None:
    """The first page of the finished sample's report.

    Raises:
        CalledProcessError: it can't be made.
    """
    (database,) = work.glob("*.sqlite3")
    subprocess.run(
        [sys.executable, "-m", "ramphold.cli", "report", _SAMPLE, "--db", database, "--out", work,
         "--pdf"],
        check=True,
        stdout=subprocess.DEVNULL,
    )  # fmt: skip
    (paper,) = work.glob("*-draft.pdf")
    subprocess.run(
        ["pdftoppm", "-png", "-singlefile", "-r", str(_DOTS_PER_INCH), paper, folder / "report"],
        check=True,
    )


async def main(folder: Path) -> None:
    """Draw it all."""
    with tempfile.TemporaryDirectory() as temporary:
        work = Path(temporary)
        await fill(work)
        report(work, folder)
        bench = SimulatedBench(work, seed=SEED, speed=None)
        bench.clock.advance_to(DAYS_LATER_S * NS_PER_S)
        async with bench:
            specimen = await received(bench)
            app = make_app(Path(bench.config.control.socket))
            async with app.run_test(size=_SIZE) as pilot:
                app.initials = "KL"
                app.register_theme(DARK)
                app.theme = DARK.name
                painter = Painter(bench, pilot, folder)
                await painter.draw("worksheet", _WORKSHEET)
                await painter.draw("results", _RESULTS)
                await crushed(bench, specimen, painter)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    asked = parser.parse_args()
    if shutil.which("pdftoppm") is None:
        sys.exit("readme_pictures.py: expected pdftoppm: sudo apt-get install poppler-utils")
    asked.folder.mkdir(parents=True, exist_ok=True)
    asyncio.run(main(asked.folder))
