"""Draws every situation at the press, in each size and kind of terminal.

    python tests/bench/situations.py FOLDER [full] [16] [nocolor] [ascii]

One SVG a situation, size and kind, and a PNG beside it where `rsvg-convert` is installed. What is
told is composed (`tests/support/press_bench.py`); server and screen are the program's.
"""

import argparse
import asyncio
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from _screen_svg import screen_svg

from pictures import make, terminal
from ramphold.control import run_methods, run_queries, server_methods
from ramphold.control.handlers import Handlers
from ramphold.control.server import Server
from ramphold.sample import SpecimenAdded
from ramphold_tui.theme import DARK, SIXTEEN
from ramphold_tui.view.situation import PressSituation
from ramphold_tui.view.situation_table import SITUATIONS
from support.press_bench import USUAL, bench_in, example

SIZES = ((60, 20), (80, 24), (120, 40))
SPECIMEN = SpecimenAdded(
    operator="KL", utc_ns=0, label="S-1", target_psi=4000.0, bore_in=2.0, cell="", specimen=3
)
KINDS = ("full", "16", "nocolor", "ascii")


class Told:
    """A server that tells one composed moment."""

    def __init__(self, path):
        handlers = Handlers(live_run=lambda: None)
        handlers.on(server_methods.STATUS, self._status)
        handlers.on(run_methods.SNAPSHOT, self._snapshot)
        handlers.on(run_queries.RUN, self._run)
        self.server = Server(path, handlers)
        self.bench = bench_in(PressSituation(), USUAL)

    async def _status(self, _):
        return self.bench.status

    async def _snapshot(self, _):
        return self.bench.live

    async def _run(self, _):
        return run_queries.RunDetail(run=self.bench.record, specimen=SPECIMEN, events=())

    def tell(self, facts):
        self.bench = bench_in(facts, USUAL)
        self.server.publish(run_methods.ON_SNAPSHOT, self.bench.live)


async def draw(folder, kind, size, path):
    told = Told(path)
    names = {row.name: f"{number:02d}-{row.name}" for number, row in enumerate(SITUATIONS)}

    async def drawn(app, pilot, name):
        cue = app.screen.query_one("#cue-detail")
        while cue.banner is None or cue.banner.name != name:
            await pilot.pause(0.02)
        # The trace follows twice a second.
        await pilot.pause(0.6)
        file = re.sub(r"\W+", "-", names[name]) + f"-{size[0]}x{size[1]}-{kind}.svg"
        (folder / file).write_text(screen_svg(app))

    with terminal(kind):
        app = make(path, kind)
        async with app.run_test(size=size) as pilot:
            theme = SIXTEEN if kind in {"16", "nocolor"} else DARK
            app.register_theme(theme)
            app.theme = theme.name
            async with told.server:
                while app.bench.live is None:
                    await pilot.pause()
                for row in SITUATIONS:
                    facts = example(row, quiet=True)
                    if facts is not None:
                        told.tell(facts)
                        await drawn(app, pilot, row.name)
            await drawn(app, pilot, "link lost")


def main(folder, kinds):
    folder.mkdir(parents=True, exist_ok=True)
    for kind in kinds:
        for size in SIZES:
            with tempfile.TemporaryDirectory() as work:
                asyncio.run(draw(folder, kind, size, Path(work) / "s"))
    if shutil.which("rsvg-convert"):
        for svg in sorted(folder.glob("*.svg")):
            subprocess.run(["rsvg-convert", svg, "-o", svg.with_suffix(".png")], check=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("kinds", nargs="*")
    asked = parser.parse_args()
    if unknown := set(asked.kinds) - set(KINDS):
        parser.error(f"{min(unknown)}: expected {', '.join(KINDS)}")
    main(asked.folder, tuple(asked.kinds) or KINDS)
