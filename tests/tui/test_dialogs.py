"""A dialog closes once, and what a place said is not said again when somebody comes back."""

import asyncio

import pytest

from ramphold_tui.screens.form_dialog import FormDialog
from ramphold_tui.screens.help_screen import HelpScreen
from ramphold_tui.screens.place_screen import PlaceScreen
from ramphold_tui.view.forms import initials_form
from ramphold_tui.view.keys import PRESS
from ramphold_tui.widgets import WordLine


@pytest.mark.parametrize("dialog", [lambda: FormDialog(initials_form()), lambda: HelpScreen(PRESS)])
def test_closing_a_dialog_twice_leaves_the_place_under_it(bench, shown, until, dialog):
    # Fault: Esc and more keys in one paste took the place away too, and the screen ended.
    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            opened = dialog()
            app.push_screen(opened)
            await until(pilot, lambda: app.screen is opened)
            opened.dismiss(None)
            opened.dismiss(None)
            await pilot.pause()
            assert isinstance(app.screen, PlaceScreen)
            await pilot.press("w", "f2")
            await until(pilot, lambda: app.screen is app.places["press"])

    asyncio.run(flow())


def test_what_was_done_is_not_said_again_to_whoever_comes_back(bench, shown, until):
    # Fault: minutes of work later the worksheet still said that the shaker runs from now.
    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            app.screen.say("the shaker runs from now, 10 min")
            await pilot.press("f1")
            await until(pilot, lambda: isinstance(app.screen, HelpScreen))
            await pilot.press("escape")
            line = app.places["press"].query_one("#said", WordLine)
            assert line.left.startswith("the shaker runs")
            await pilot.press("f3")
            await until(pilot, lambda: app.screen is app.places["balance"])
            await pilot.press("f2")
            await until(pilot, lambda: app.screen is app.places["press"])
            await until(pilot, lambda: line.left.startswith("Observes only"))

    asyncio.run(flow())
