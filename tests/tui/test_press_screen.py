import asyncio

import pytest

from ramphold_tui.widgets import BigText, KeyBar, MeterBar, WordLine

SIZES = [(80, 24), (100, 30), (120, 40)]


def word(app):
    return app.screen.query_one("#cue", BigText).text


def shown_state(app):
    return app.screen.query_one("#status", WordLine).left


def load(app):
    return app.screen.query_one("#load", BigText).text


def test_the_screen_follows_a_run_from_contact_to_its_end(bench, shown, until):
    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            for t_s, expected in [(60, "ramp"), (150, "hold"), (242, "release")]:
                bench.feed_until(t_s)
                bench.publish()
                await until(pilot, lambda: expected in shown_state(app))  # noqa: B023 - awaited here
            assert word(app) == "RELEASE"
            bench.feed_until(245)
            bench.publish()
            await until(pilot, lambda: word(app) == "ENDED")
            assert load(app) == "0"

    asyncio.run(flow())


def test_what_is_known_at_the_start_needs_no_reading(bench, shown, until):
    bench.feed_until(150)

    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: load(app) == "12 566")
            hold = app.screen.query_one("#hold", MeterBar)
            assert hold.meter.text == "30 s held, 90 s to go"
            assert app.bench.record.plan.target_psi == 4000

    asyncio.run(flow())


@pytest.mark.parametrize("size", SIZES)
def test_every_size_shows_all_that_matters(bench, shown, until, size):
    bench.feed_until(60)

    async def flow():
        async with bench.server, shown(bench.path, size) as (app, pilot):
            await until(pilot, lambda: load(app) == "6 168")
            seen = app.screen.region
            for name in ("load", "stress", "cue", "pursuit", "hold", "ceiling", "rating"):
                region = app.screen.query_one(f"#{name}").region
                assert region.area, name
                assert seen.contains_region(region), name
            assert app.screen.query_one("#load").region.height >= 5

    asyncio.run(flow())


def test_a_daemon_that_dies_is_said_at_once_and_one_that_returns_is_found(bench, shown, until):
    bench.feed_until(60)

    async def flow():
        async with shown(bench.path) as (app, pilot):
            async with bench.server:
                await until(pilot, lambda: " ramp" in shown_state(app) and word(app) != "NO LINK")
            await until(pilot, lambda: word(app) == "NO LINK")
            digits = app.screen.query_one("#load", BigText)
            assert digits.text == "6 168"
            assert digits.has_class("-faded")
            bench.feed_until(61)
            async with bench.server:
                await until(pilot, lambda: " ramp" in shown_state(app) and word(app) != "NO LINK")
                assert not digits.has_class("-faded")
                assert digits.text == "6 273"

    asyncio.run(flow())


def test_a_socket_that_nobody_serves_is_waited_for(bench, shown, until):
    async def flow():
        async with shown(bench.path) as (app, pilot):
            await until(pilot, lambda: word(app) == "NO LINK")
            async with bench.server:
                await until(pilot, lambda: word(app) == "READY" or word(app) == "NO READING")

    asyncio.run(flow())


def test_the_screen_asks_for_nothing_that_changes_the_run(bench, shown, until):
    bench.feed_until(60)

    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: " ramp" in shown_state(app) and word(app) != "NO LINK")
            await pilot.press("a", "enter", "space", "escape", "tab", "x")
        assert bench.asked == []
        assert not bench.tracker.ended

    asyncio.run(flow())


def test_the_caution_is_in_sight(bench, shown, until):
    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.status is not None)
            assert "no guard, no load limiter" in app.screen.query_one("#said", WordLine).left

    asyncio.run(flow())


def test_a_real_press_has_no_keys_that_pump_it(bench, shown, until):
    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.status is not None)
            live = app.screen.active_bindings
            assert not {"h", "space", "v"} & set(live)
            assert "s" in live
            named = app.screen.query_one(KeyBar).render_line(0).text
            assert "S style" in named
            assert "hand" not in named

    asyncio.run(flow())
