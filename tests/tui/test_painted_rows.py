"""What is painted row by row is what a whole paint shows."""

import asyncio

import pytest

from ramphold_tui.widgets.drawn import Drawn

SIZES = [(60, 20), (80, 24), (120, 40)]


async def shown_rows(app, pilot):
    """The rows once they rest: a widget asks for another height twice."""
    for _ in range(3):
        await pilot.pause()
    return [[*strip] for strip in app.screen._compositor.render_strips()]


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_rows_that_are_painted_singly_leave_nothing_old_on_the_screen(bench, shown, until, size):
    async def flow():
        async with bench.server, shown(bench.path, size) as (app, pilot):
            for seconds in (1, 5, 15, 40, 41, 60, 90, 120, 130, 200, 260):
                bench.feed_until(seconds)
                bench.publish()
                told = bench.live().t_ns
                await until(pilot, lambda: app.bench.live and app.bench.live.t_ns >= told)  # noqa: B023
                app._paint_times.paint()
                singly = await shown_rows(app, pilot)
                for widget in app.screen.query(Drawn):
                    widget.refresh()
                assert await shown_rows(app, pilot) == singly

    asyncio.run(flow())


def test_what_changed_while_it_was_hidden_is_shown_when_it_is_back(bench, shown, until):
    async def flow():
        async with bench.server, shown(bench.path, (120, 40)) as (app, pilot):
            for number, size in enumerate([(120, 40), (59, 19), (80, 24), (60, 20), (120, 40)]):
                await pilot.resize_terminal(*size)
                bench.feed_until(40 + 20 * number)
                bench.publish()
                told = bench.live().t_ns
                await until(pilot, lambda: app.bench.live and app.bench.live.t_ns >= told)  # noqa: B023
                app._paint_times.paint()
                kept = await shown_rows(app, pilot)
                app.screen.refresh()
                for widget in app.screen.query("*"):
                    widget.refresh()
                assert await shown_rows(app, pilot) == kept

    asyncio.run(flow())


def test_a_row_that_shows_the_same_is_not_painted_again(bench, shown, until):
    async def flow():
        async with bench.server, shown(bench.path, (120, 40)) as (app, pilot):
            bench.feed_until(60)
            bench.publish()
            digits = app.screen.query_one("#stress")
            await until(pilot, lambda: digits.text not in {"", "--"})
            await pilot.pause()
            before = [digits.render_line(y).text for y in range(digits.size.height)]
            drawn = []
            draw_row = digits.draw_row
            digits.text = digits.text[:-1] + ("1" if digits.text[-1] != "1" else "7")
            digits.render_line = lambda y: drawn.append(y) or Drawn.render_line(digits, y)
            app.screen._compositor.render_strips()
            after = [draw_row(y, digits.size.width)[0][0] for y in range(digits.size.height)]
            changed = [y for y, row in enumerate(after) if row.rstrip() != before[y].rstrip()]
            assert drawn == changed
            assert 0 < len(changed) < digits.size.height

    asyncio.run(flow())
