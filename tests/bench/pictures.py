"""Draws every place of the screen, on the real daemon and the simulated bench.

    python tests/bench/pictures.py FOLDER [full] [16] [nocolor] [console] [ascii]

One SVG a place, size and kind of terminal, `results-80x24-16.svg`: to be looked at after a change,
with a designer's eye. `rsvg-convert FILE.svg -o FILE.png` makes a PNG of one.
"""

import argparse
import asyncio
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from _screen_svg import screen_svg

from ramphold.cli.demo import issue_report
from ramphold.clock import NS_PER_S
from ramphold.control import bench_methods, run_methods, shaker_methods, specimen_methods
from ramphold.core import RunState
from ramphold.demo import SimulatedBench, walk_sample
from ramphold.sample import Equipment
from ramphold_tui.app import RampholdApp, make_app
from ramphold_tui.theme import DARK, SIXTEEN
from ramphold_tui.view.glyphs import ASCII, CONSOLE, UNICODE
from ramphold_tui.widgets.drawn import Drawn

SIZES = ((80, 24), (100, 30), (120, 40))
#: The keys that lead to each place.
PLACES = {
    "press": ("f2",),
    "balance": ("f3",),
    "worksheet": ("w",),
    "results": ("r",),
    "run": ("r", "down", "enter"),
    "instruments": ("i",),
    "timers": ("t",),
    "help": ("f1",),
}
#: Kinds of terminal.
KINDS = ("full", "16", "nocolor", "console", "ascii")
DAYS_LATER_S = 7 * 86_400
SEED = 3


async def fill(folder: Path) -> None:
    """A whole sample, as the demo walks through one."""
    await walk_sample(folder, SEED, lambda _: None, issue_report)


async def at_work(bench: SimulatedBench) -> None:
    """Checks of the day, a specimen in its hold, two sieves on the shaker."""
    ask = bench.client.call
    await bench.pass_time(3.0)
    await ask(bench_methods.ZERO_LOAD, bench_methods.ZeroLoadParams(operator="KL"))
    for equipment, name, nominal in ((Equipment.CELL, "A", 2.0), (Equipment.SIEVE, "40", 0.425)):
        checked = bench_methods.CheckEquipmentParams(
            equipment=equipment,
            name=name,
            measured=nominal * 1.001,
            nominal=nominal,
            finding="as it should be",
            operator="KL",
        )
        await ask(bench_methods.CHECK_EQUIPMENT, checked)
    for label, planned_s in (("S-1", 900.0), ("S-2", 300.0), ("S-3", None)):
        wanted = specimen_methods.AddSpecimenParams(label=label, target_psi=4000.0, operator="KL")
        specimen = await ask(specimen_methods.ADD_SPECIMEN, wanted)
        if planned_s is not None:
            shaking = shaker_methods.StartShakingParams(
                specimen=specimen.specimen, planned_s=planned_s, operator="KL"
            )
            await ask(shaker_methods.START_SHAKING, shaking)
    bench.lay_bed()
    await ask(
        run_methods.START_RUN, run_methods.StartRunParams(specimen=specimen.specimen, operator="KL")
    )
    while (await bench.pump()).state is not RunState.HOLD:
        pass
    for _ in range(300):
        await bench.pump()


@contextmanager
def terminal(kind: str) -> Iterator[None]:
    """What the app finds out about its terminal before it is made."""
    if kind == "nocolor":
        os.environ["NO_COLOR"] = "1"
    yield
    os.environ.pop("NO_COLOR", None)
    Drawn.marks = UNICODE


def make(socket: Path, kind: str) -> RampholdApp:
    """The screen, on a terminal of a kind."""
    app = make_app(socket)
    Drawn.marks = {"ascii": ASCII, "console": CONSOLE}.get(kind, UNICODE)
    return app


async def draw(bench: SimulatedBench, folder: Path, kind: str, size: tuple[int, int]) -> None:
    """Every place once."""
    with terminal(kind):
        app = make(Path(bench.config.control.socket), kind)
        async with app.run_test(size=size) as pilot:
            app.initials = "KL"
            # Here is no terminal to ask for its colours.
            theme = SIXTEEN if kind in {"16", "nocolor", "console"} else DARK
            app.register_theme(theme)
            app.theme = theme.name
            for place, keys in PLACES.items():
                for key in keys:
                    await pilot.press(key)
                    await settle(pilot)
                await bench.pump()
                await settle(pilot)
                name = f"{place}-{size[0]}x{size[1]}-{kind}.svg"
                (folder / name).write_text(screen_svg(app))
                await pilot.press("escape")


async def settle(pilot) -> None:
    """Let the daemon answer and the screen paint."""
    for _ in range(10):
        await pilot.pause(0.03)


async def main(folder: Path) -> None:
    """Draw it all."""
    with tempfile.TemporaryDirectory() as work:
        await fill(Path(work))
        bench = SimulatedBench(Path(work), seed=SEED, speed=None)
        bench.clock.advance_to(DAYS_LATER_S * NS_PER_S)
        async with bench:
            await at_work(bench)
            for kind in KINDS:
                for size in SIZES:
                    await draw(bench, folder, kind, size)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("kinds", nargs="*", help=f"of {', '.join(KINDS)}; all of them by default")
    asked = parser.parse_args()
    if unknown := set(asked.kinds) - set(KINDS):
        parser.error(f"{min(unknown)}: expected {', '.join(KINDS)}")
    KINDS = tuple(asked.kinds) or KINDS
    asked.folder.mkdir(parents=True, exist_ok=True)
    asyncio.run(main(asked.folder))
