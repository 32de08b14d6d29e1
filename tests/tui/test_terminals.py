"""Terminals that lack colours or marks."""

import asyncio
import io
import sys

import pytest

from ramphold_tui.theme import COLOURS, CONTRAST, DARK, LIGHT, SIXTEEN, theme_for
from ramphold_tui.view.glyphs import UNICODE
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


def painted(app):
    """All that is on the screen."""
    strips = app.screen._compositor.render_strips()
    return "".join(segment.text for strip in strips for segment in strip)


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


@pytest.mark.slow
@pytest.mark.parametrize(
    ("keys", "there"),
    [
        (("w",), "S-1"),
        (("w", "escape"), "S-1"),
        (("f3",), "S-1"),
        (("w", "f7"), "A specimen of 26-0417"),
        (("w", "f5"), "Follow the crush of S-1"),
    ],
)
def test_samples_worksheet_and_balance_are_drawn_in_plain_characters_too(
    on_bench, until, terminal, keys, there
):
    terminal("xterm", "ascii")

    async def flow():
        async with on_bench(specimens=1) as (_, app, pilot):
            app.initials = "KL"
            for key in keys:
                await pilot.press(key)
                await until(pilot, lambda: app._workspace.part is not None)
                app._workspace.key = "specimen 1"
            await until(pilot, lambda: there in painted(app))
            assert painted(app).isascii()

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
    [("truecolor", DARK), ("256", DARK), ("standard", SIXTEEN), (None, SIXTEEN)],
)
def test_the_colours_are_those_that_the_terminal_has(system, theme):
    assert theme_for(system) is theme


def luminance(colour):
    """Relative luminance by WCAG 2.1."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.03928 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return sum(share * one for share, one in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


# WCAG 2.1, success criteria 1.4.3 (4.5 to 1) and 1.4.6 (7 to 1).
@pytest.mark.parametrize(("theme", "least"), [(DARK, 4.5), (LIGHT, 4.5), (CONTRAST, 7.0)])
def test_every_word_stands_out_from_what_is_behind_it(theme, least):
    for ground in (theme.background, theme.panel):
        for word in ("foreground", "primary", "secondary", "accent", "warning", "error"):
            pair = sorted((luminance(getattr(theme, word)), luminance(ground)))
            assert (pair[1] + 0.05) / (pair[0] + 0.05) >= least, (word, ground)


def test_an_unknown_choice_of_colours_is_the_usual_one():
    assert theme_for("truecolor", "mauve") is COLOURS["dark"]
