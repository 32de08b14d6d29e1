"""README's tour, key by key as README has it, on the demo's bench and the real daemon.

It takes several seconds: two whole runs at 4000 psi, and the demo's ten minutes on the sieve.
"""

import asyncio
import re
from pathlib import Path

import pytest
from textual.widgets import Static

from ramphold.clock import NS_PER_S
from ramphold.core import ENDED
from ramphold.demo import SimulatedBench, crush_one_specimen
from ramphold.demo.press_screen import press_screen
from ramphold_tui.app import make_app
from ramphold_tui.screens import Dialog
from ramphold_tui.view.keys import KEYS
from ramphold_tui.widgets import BigText, KeyBar, WordLine

README = Path(__file__).parents[2] / "README.md"
#: The names that README gives to keys, as the terminal sends them.
NAMES = {"Enter": "enter", "Right": "right", "Space": "space"}
PULLS = {"READY", "SEATING", "SQUEEZE", "FASTER", "PULL ON", "TOP UP", "NO CUE"}
OVER = {"RELEASE", "RELEASE FULLY"}
# Nobody reads a row in less than two seconds, which a balance takes to rest.
READ_READINGS = 20
# A hand holds its key for half a second at least.
PULLED_READINGS = 5
#: What the row of a dialog names, which is in no key line.
IN_DIALOGS = {"Right", "K", "L"}


def tour():
    """The rows of README's tour: the keys, whether they are held, and what is waited for."""
    found = re.search(r"<!-- tour -->(.*)<!-- end of tour -->", README.read_text(), re.DOTALL)
    rows = [line.split("|")[1:3] for line in found[1].strip().splitlines()[2:]]
    return [
        (re.findall("`(.+?)`", keys), keys.strip().startswith("hold"), said.strip(" `"))
        for keys, said in rows
    ]


def says(app, wanted):
    """Whether the screen shows this: as a word in large letters, or in a line or a title."""
    screen = app.screen
    if any(one.text == wanted for one in screen.query(BigText) if one.display):
        return True
    lines = [f"{one.left}\n{one.right}" for one in screen.query(WordLine) if one.display]
    titles = [str(one.content) for one in screen.query(Static)]
    return any(wanted in text for text in [*lines, *titles])


def names(app, key):
    """Whether the screen names a key where it is pressed."""
    if isinstance(app.screen, Dialog):
        return key in IN_DIALOGS or any(key in str(one.content) for one in app.screen.query(Static))
    return re.search(rf"\b{key}\b", app.screen.query_one(KeyBar).render_line(0).text) is not None


async def pull(bench, pilot):
    """Hold Space as the screen's word asks for it, until it asks for a release."""
    while (word := press_screen(bench.daemon.press.snapshot()).word) not in OVER:
        assert word != "NO ANSWER"
        if word in PULLS or word.endswith("STROKE"):
            await pilot.press("space")
        for _ in range(PULLED_READINGS):
            await bench.pump()


def weighed(app, bench):
    """Whether the screen knows a mass of this moment."""
    mass = app.bench.mass
    return mass is not None and bench.clock.now_ns() - mass.t_ns <= NS_PER_S


def test_the_tour_has_the_keys_of_the_screen():
    known = {part for key in KEYS for part in key.name.split()} | IN_DIALOGS
    rows = tour()
    assert len(rows) > 20
    assert {key for keys, _, _ in rows for key in keys} <= known


@pytest.mark.slow
def test_the_tour_leads_from_its_own_run_to_a_class_by_the_keys_that_the_screen_names(tmp_path):
    async def flow():
        async with SimulatedBench(tmp_path, seed=1, speed=None) as bench:
            await crush_one_specimen(bench, 1, lambda _: None)
            app = make_app(Path(bench.config.control.socket))
            async with app.run_test(size=(80, 24)) as pilot:
                for keys, held, wanted in tour():
                    for key in keys:
                        assert names(app, key), (key, wanted)
                        if held:
                            await pull(bench, pilot)
                        else:
                            await pilot.press(NAMES.get(key, key))
                    async with asyncio.timeout(60):
                        while not says(app, wanted):
                            await bench.pump()
                            await pilot.pause(0.02)
                    for _ in range(READ_READINGS):
                        await bench.pump()
                    # The bench's clock is fast: nobody presses on while the balance lags behind it.
                    while not weighed(app, bench):
                        if app.bench.mass is None:
                            await bench.pump()
                        await pilot.pause(0.02)
            run = bench.daemon.press.snapshot()
            assert run.snapshot.state in ENDED
            assert run.verdict.verdict == "pass"

    asyncio.run(flow())
