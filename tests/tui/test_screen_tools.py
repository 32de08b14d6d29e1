"""Commands by their words, search in lists, copies, pictures, colours and sounds."""

import asyncio
import re

import pytest
from textual.widgets import Input

from ramphold_tui.screens import (
    BalanceScreen,
    HelpScreen,
    InstrumentsScreen,
    SamplesScreen,
    WorksheetScreen,
)
from ramphold_tui.screens.search_dialog import SearchDialog
from ramphold_tui.settings import ScreenSettings, settings_file
from ramphold_tui.view import keys
from ramphold_tui.view.search import found_in
from ramphold_tui.widgets import Rows, WordLine
from support.dialogs import asks

pytestmark = pytest.mark.slow


def said(app):
    return app.screen.query_one("#said", WordLine).left


def is_on(app, kind):
    return lambda: isinstance(app.screen, kind)


def test_a_question_mark_helps_as_f1_does_but_is_typed_in_a_field(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("question_mark")
            await until(pilot, is_on(app, HelpScreen))
            await pilot.press("escape", "f8")
            await until(pilot, lambda: asks(app, "Who works here?"))
            await pilot.press("question_mark")
            assert app.screen.query_one(Input).value == "?"

    asyncio.run(flow())


def test_a_command_is_found_by_a_few_letters_and_done(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("ctrl+p")
            await until(pilot, lambda: asks(app, "Commands"))
            await pilot.press(*"instr health")
            rows = app.screen.query_one(Rows)
            await until(pilot, lambda: len(rows.rows) == 1)
            await pilot.press("enter")
            await until(pilot, is_on(app, InstrumentsScreen))
            # A command of the place itself.
            await pilot.press("ctrl+p", *"zero", "enter")
            await until(pilot, lambda: asks(app, "Who works here?"))

    asyncio.run(flow())


@pytest.mark.parametrize("place", ["press", "balance", "worksheet", "samples", "results"])
def test_every_command_has_a_key_that_its_row_names(place):
    here = getattr(keys, place.upper())
    for key in keys.commands(here):
        assert key in keys.KEYS
        assert key.place in {here, keys.EVERYWHERE, keys.OUTSIDE_TEXT}


def test_what_is_not_found_takes_nothing_and_escape_leads_back(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            before = app.screen
            await pilot.press("ctrl+p", *"xyzzy")
            await until(pilot, is_on(app, SearchDialog))
            await pilot.press("enter")
            await pilot.pause()
            assert isinstance(app.screen, SearchDialog)
            await pilot.press("escape")
            await until(pilot, lambda: app.screen is before)

    asyncio.run(flow())


def test_every_word_that_is_typed_must_be_there_in_any_order_and_case():
    rows = ("26-0417  20/40  pit 3", "26-0418  40/70  pit 3", "Q-1  20/40  control")
    assert found_in(rows, "") == (0, 1, 2)
    assert found_in(rows, "PIT 20/40") == (0,)
    assert found_in(rows, "3 pit") == (0, 1)
    assert found_in(rows, "nobody") == ()


def test_a_row_of_a_list_is_found_and_chosen(on_bench, until):
    async def flow():
        async with on_bench(specimens=3) as (_, app, pilot):
            await pilot.press("w")
            await until(pilot, is_on(app, WorksheetScreen))
            await until(pilot, lambda: len(app.screen.query_one(Rows).rows) > 3)
            await pilot.press("slash", *"s-3")
            await until(pilot, lambda: asks(app, "Find in the list"))
            await until(pilot, lambda: len(app.screen.query_one(Rows).rows) == 1)
            await pilot.press("enter")
            await until(pilot, lambda: app._workspace.key == "specimen 3")
            await pilot.press("f2", "slash")
            await until(pilot, lambda: said(app) == "there is no list here to find anything in")

    asyncio.run(flow())


def test_a_value_is_copied_as_it_stands(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await bench.weigh(39.525)
            await pilot.press("f3")
            await until(pilot, is_on(app, BalanceScreen))
            await until(pilot, lambda: "39.525" in app.screen.values())
            await pilot.press("c", *"39.525")
            await until(pilot, lambda: asks(app, "Copy which value?"))
            await pilot.press("enter")
            await until(pilot, lambda: said(app).startswith("copied"))
            assert app.clipboard == "39.525"
            await pilot.press("w", "escape")
            await until(pilot, is_on(app, SamplesScreen))
            await until(pilot, lambda: "26-0417" in app.screen.values())

    asyncio.run(flow())


def test_a_picture_is_written_and_needs_nothing_from_elsewhere(
    on_bench, until, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)

    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("ctrl+s")
            await until(pilot, lambda: said(app).startswith("picture: "))

    asyncio.run(flow())
    (file,) = tmp_path.glob("ramphold-*.svg")
    text = file.read_text()
    assert "url(http" not in text
    assert re.search(r"stress.*psi", text)


def test_a_picture_that_cannot_be_written_is_said(on_bench, until, tmp_path, monkeypatch):
    there_was = tmp_path / "gone"
    there_was.mkdir()
    monkeypatch.chdir(there_was)
    there_was.rmdir()

    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("ctrl+s")
            await until(pilot, lambda: said(app).startswith("no picture: "))

    asyncio.run(flow())


def test_colours_and_sounds_are_remembered_at_the_next_start(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("L")
            await until(pilot, lambda: said(app).startswith("colours: light"))
            await pilot.press("b")
            await until(pilot, lambda: said(app).startswith("sounds are off"))
            assert not app._player.on

    asyncio.run(flow())
    assert ScreenSettings.read(settings_file()) == ScreenSettings(colours="light", sounds=False)


@pytest.mark.parametrize(
    "content", [b"", b"\x00\xff", b"[]", b'{"colours": 3}', b'{"sounds": "x"}']
)
def test_settings_that_make_no_sense_are_those_of_a_first_start(tmp_path, content):
    file = tmp_path / "screen.json"
    file.write_bytes(content)
    assert ScreenSettings.read(file) == ScreenSettings()


def test_settings_that_cannot_be_kept_are_used_and_it_is_said(on_bench, until, monkeypatch):
    monkeypatch.setenv("XDG_STATE_HOME", "/proc/nowhere")

    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("b")
            await until(pilot, lambda: not app._player.on)

    asyncio.run(flow())


@pytest.mark.parametrize(
    "places", [(), ("w",), ("r",), ("i",), ("t", "f1"), ("w", "f8"), ("f3",), ("r", "enter")]
)
def test_the_screen_can_be_closed_at_any_moment_while_it_paints(on_bench, places):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.set_interval(0.001, app._paint_times.paint)
            await pilot.press(*places)
            for _ in range(3):
                await bench.pump()
            await pilot.press("ctrl+q")
            await bench.pump()
            await pilot.pause()

    asyncio.run(flow())
