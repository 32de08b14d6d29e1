"""A dialog closes once, however many keys are on their way."""

import asyncio

import pytest

from ramphold_tui.screens.form_dialog import FormDialog
from ramphold_tui.screens.help_screen import HelpScreen
from ramphold_tui.screens.place_screen import PlaceScreen
from ramphold_tui.view.forms import initials_form
from ramphold_tui.view.keys import PRESS


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
