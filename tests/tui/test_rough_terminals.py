"""Terminals that change their size in any dialog, and garbage that is pasted into them."""

import asyncio

import pytest
from textual.events import Paste
from textual.widgets import Input

from ramphold_tui.screens import FormDialog
from support.dialogs import asks

pytestmark = pytest.mark.slow

SIZES = [(80, 24), (20, 5), (300, 80), (1, 1), (60, 20), (120, 40)]
#: The keys that open each dialog, and what is open then.
DIALOGS = {
    "initials": ("f8",),
    "commands": ("ctrl+p",),
    "sample": ("w", "escape", "f7"),
    "plan": ("w", "p"),
    "start": ("w", "f5"),
    "zero": ("i", "z"),
}
GARBAGE = (
    "\x00\x1b[31m\x07\x7f", "[bold]x[/]" * 30, "\u202e\u0000\ufeff", "a\nb\r\nc\td", "9" * 5_000,
    "\U0001f4a5 \ud7ff \u0301" * 50, "'; DROP TABLE runs; --", "\\" * 500, "NaN", "1e999psi",
)  # fmt: skip


@pytest.mark.parametrize("dialog", DIALOGS)
def test_a_dialog_survives_every_size_and_keeps_what_is_typed(on_bench, dialog):
    async def flow():
        async with on_bench(specimens=1) as (_, app, pilot):
            app.initials = "KL"
            for key in DIALOGS[dialog]:
                await pilot.press(key)
                await pilot.pause(0.15)
                if app._workspace.parts:
                    app._workspace.key = "specimen 1"
            fields = list(app.screen.query(Input))
            for field in fields[:1]:
                field.value = "typed"
            before = app.screen
            for size in SIZES:
                await pilot.resize_terminal(*size)
                await pilot.pause()
            assert app.screen is before
            assert [one.value for one in fields[:1]] == ["typed"] * len(fields[:1])
            await pilot.press("escape")

    asyncio.run(flow())


@pytest.mark.parametrize("dialog", ["plan", "initials", "commands"])
def test_pasted_garbage_is_an_error_under_its_field_at_most(on_bench, dialog):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            for key in DIALOGS[dialog]:
                await pilot.press(key)
                await pilot.pause(0.15)
            for garbage in GARBAGE:
                if app.focused is not None:
                    app.focused.post_message(Paste(garbage))
                await pilot.pause()
                await pilot.press("down")
            await pilot.press("escape")
            await pilot.pause()
            assert app.is_running
            assert bench.daemon.press.live is None

    asyncio.run(flow())


def test_a_draft_outlives_sizes_and_garbage(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            app.initials = "KL"
            await pilot.press("w", "f7")
            await until(pilot, lambda: asks(app, "A sample came in"))
            await pilot.press(*"26-0418")
            for size in SIZES:
                await pilot.resize_terminal(*size)
            app.focused.post_message(Paste("\x1b[0m\x00 b"))
            await pilot.pause()
            await pilot.press("f2", "w", "f7")
            await until(pilot, lambda: isinstance(app.screen, FormDialog))
            assert app.screen.texts["laboratory_number"].startswith("26-0418")

    asyncio.run(flow())
