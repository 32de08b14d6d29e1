"""The screen of an exercise takes the lever, says what it can show, and closes after its run."""

import asyncio
from pathlib import Path

import pytest

from ramphold.control import run_methods, specimen_methods
from ramphold.demo import SimulatedBench
from ramphold_tui.practice import PracticeLever, make_practice_app
from ramphold_tui.widgets import KeyBar

KEY = PracticeLever(name="key", use="hold Space to pull", shows="key: shows when you pull")


@pytest.mark.parametrize("cued", [False, True])
def test_it_shows_the_run_takes_the_lever_and_closes_when_the_run_has_ended(tmp_path, cued):
    async def flow():
        async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
            specimen = await bench.ask(
                specimen_methods.ADD_SPECIMEN, label="practice", target_psi=1000.0
            )
            await bench.ask(run_methods.START_RUN, specimen=specimen.specimen)
            app = make_practice_app(Path(bench.config.control.socket), cued=cued, lever=KEY)
            async with app.run_test(size=(80, 24)) as pilot, asyncio.timeout(30):
                while not app.screen.query("#lever"):
                    await bench.pump()
                    await pilot.pause()
                shown = app.screen.query_one("#lever")
                assert shown.left == KEY.shows
                assert app.screen.region.contains_region(shown.region)
                # Keys that lead nowhere are not named.
                named = app.screen.query_one(KeyBar).render_line(0).text
                assert "F9 end record" in named
                assert not {"F2", "F3", "Enter", "places"} & set(named.split())
                await bench.ask(run_methods.END_RUN, reason="enough")
                while app.is_running:
                    await bench.pump()
                    await pilot.pause(0.1)

    asyncio.run(flow())
