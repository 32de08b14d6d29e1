"""What the monkey found: a plot without room, and an answer to a screen that is closing."""

import asyncio

from ramphold_tui.widgets import TracePlot


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
