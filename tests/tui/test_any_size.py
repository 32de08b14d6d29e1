"""What the monkey found: a plot without room, and an answer to a screen that is closing."""

import asyncio

import pytest

from ramphold_tui.view.pursuit_strip import PursuitStrip
from ramphold_tui.widgets import PursuitBar, TracePlot, WordLine


def test_the_press_in_a_run_is_drawn_at_any_size(bench, shown, until):
    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            bench.feed_until(60)
            bench.publish()
            await until(pilot, lambda: app.bench.live is not None and app.bench.snapshot)
            for columns in (*range(1, 50, 4), 60, 80):
                for rows in (1, 6, 45):
                    await pilot.resize_terminal(columns, rows)
                    plot = app.screen.query_one(TracePlot)
                    for width in range(1, 40):
                        plot.draw_row(0, width)
                        plot._drawn = (None, [])
            await pilot.pause()

    asyncio.run(flow())


def test_an_answer_to_a_screen_that_is_closing_breaks_nothing(bench, shown):
    async def flow():
        async with bench.server, shown(bench.path) as (app, _):
            place = app.screen
            place.say("kept")
            await place.remove_children()
            place.say("too late")

    asyncio.run(flow())


@pytest.mark.parametrize("size", [(30, 8), (34, 10), (45, 6)])
def test_a_terminal_that_is_too_small_says_so_with_the_word_and_the_load(on_bench, size):
    async def flow():
        async with on_bench(size=size) as (bench, app, pilot):
            await bench.pass_time(1)
            await pilot.pause(0.2)
            shown = app.screen.query_one("#too-small", WordLine)
            text = " ".join(
                "".join(part for part, _ in shown.draw_row(row, shown.size.width)).strip()
                for row in range(shown.size.height)
            )
            assert text.startswith(f"60x20 needed, this is {size[0]}x{size[1]}: ")
            assert text.endswith(" lbf")

    asyncio.run(flow())


@pytest.mark.parametrize("load", [0, 10, 40, 70, 80])
def test_however_far_off_the_load_is_both_ends_of_the_bar_are_named(on_bench, load):
    async def flow():
        async with on_bench(size=(120, 40)) as (_, app, pilot):
            bar = app.screen.query_one(PursuitBar)
            await pilot.pause()
            width = 81
            bar.set_reactive(
                PursuitBar.strip,
                PursuitStrip(
                    columns=81,
                    cell_psi=4.0,
                    mark=40,
                    load=load,
                    ahead=(),
                    past=(),
                    paced=True,
                    pace=None,
                ),
            )
            row = (bar.room.height - 1) // 2
            text = "".join(part for part, _ in bar.draw_row(row, width))
            assert text.startswith("behind ")
            assert text.endswith(" ahead")
            assert len(text) == width

    asyncio.run(flow())
