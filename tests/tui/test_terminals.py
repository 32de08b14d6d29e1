"""Terminals that lack colours or marks."""

import asyncio
import io
import sys

import pytest

from ramphold_tui.glyphs import UNICODE
from ramphold_tui.theme import FULL, SIXTEEN, theme_for
from ramphold_tui.widgets.drawn import Drawn


@pytest.fixture
def terminal(monkeypatch):
    """The terminal that the app finds, by its TERM and its encoding."""

    def choose(term, encoding):
        stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
        monkeypatch.setenv("TERM", term)
        monkeypatch.setattr(sys, "__stderr__", stream)

    yield choose
    Drawn.marks = UNICODE


def drawn(app):
    """All that our own widgets draw."""
    return [
        segment
        for widget in app.screen.query(Drawn)
        for row in range(widget.size.height)
        for segment in widget.render_line(row)
    ]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_without_unicode_all_is_drawn_in_plain_characters(bench, shown, until, terminal, size):
    terminal("xterm", "ascii")
    bench.feed_until(150)

    async def flow():
        async with bench.server, shown(bench.path, size) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            text = "".join(segment.text for segment in drawn(app))
            assert "####" in text
            assert text.isascii()

    asyncio.run(flow())


def test_the_linux_console_gets_no_braille(bench, shown, until, terminal):
    terminal("linux", "utf-8")
    bench.feed_until(150)

    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            text = "".join(segment.text for segment in drawn(app))
            assert set(text) - {"█", "─", "│"} == {mark for mark in text if mark.isascii()}

    asyncio.run(flow())


def test_where_no_colour_is_wanted_none_is_used(bench, shown, until, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    bench.feed_until(150)

    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            # What is written to the terminal has passed the app's filters.
            colours = [
                colour
                for widget in app.screen.query(Drawn)
                for strip in widget.render_lines(widget.size.region)
                for segment in strip
                for colour in (segment.style.color, segment.style.bgcolor)
            ]
            assert colours
            assert all(colour is None or colour.is_default for colour in colours)

    asyncio.run(flow())


@pytest.mark.parametrize(
    ("system", "theme"),
    [("truecolor", FULL), ("256", FULL), ("standard", SIXTEEN), (None, SIXTEEN)],
)
def test_the_colours_are_those_that_the_terminal_has(system, theme):
    assert theme_for(system) is theme
