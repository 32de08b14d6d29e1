"""The screen on the real daemon and the simulated bench, worked by keys alone."""

import asyncio

import pytest

from ramphold.control import run_methods, run_queries
from ramphold_tui.screens import PlaceScreen
from ramphold_tui.widgets import PressStrip, WordLine

pytestmark = pytest.mark.slow


def said(app):
    return app.screen.query_one("#said", WordLine).left


@pytest.mark.parametrize(
    "before",
    [
        (),
        ("f1",),
        ("f3",),
        ("f3", "m"),
        ("f8",),
        ("w",),
        ("w", "f7"),
        ("w", "p"),
        ("w", "escape"),
        ("w", "escape", "f7"),
        ("r",),
        ("i",),
        ("t",),
        ("ctrl+p",),
    ],
)
def test_the_record_can_be_ended_in_every_place_by_one_key(on_bench, until, before):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            started = await bench.client.call(
                run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL")
            )
            app.initials = "KL"
            for key in before:
                await pilot.press(key)
                await pilot.pause()
            for _ in range(100):
                await bench.pump()
            await pilot.press("f9")
            await bench.daemon.press.written()
            run = (
                await bench.client.call(run_queries.RUN, run_queries.RunParams(run=started.run))
            ).run
            assert (run.state, run.reason) == ("stopped", "ended: ended at the screen (KL)")
            place = next(screen for screen in app.screen_stack if isinstance(screen, PlaceScreen))
            line = place.query_one("#said", WordLine)
            await until(pilot, lambda: line.left.endswith("kept; the press goes on"))

    asyncio.run(flow())


def test_without_a_run_there_is_nothing_to_end(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("f9")
            await until(pilot, lambda: said(app).startswith("not ended: no run is live"))

    asyncio.run(flow())


@pytest.mark.parametrize("before", [("f1",), ("f8",), ("ctrl+p",), ("w", "p"), ("w", "f7")])
def test_the_press_stays_in_sight_in_every_dialog(on_bench, until, before):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await bench.client.call(
                run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL")
            )
            for _ in range(260):
                await bench.pump()
            for key in before:
                await pilot.press(key)
                await pilot.pause(0.15)
            await until(pilot, lambda: not isinstance(app.screen, PlaceScreen))
            strip = app.screen.query_one(PressStrip)
            await until(pilot, lambda: strip.left.startswith("press, ramp: "))
            assert strip.right.endswith(("ahead", "behind", "on the line"))

    asyncio.run(flow())


def test_the_style_of_pacing_is_changed_by_one_key(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await pilot.press("s")
            await until(pilot, lambda: said(app).startswith("style not changed: no run is live"))
            await bench.client.call(
                run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL")
            )
            await bench.pump()
            await pilot.press("s")
            await until(pilot, lambda: said(app) == "paced in style strokes from now on")
            status = app.screen.query_one("#status", WordLine)
            await until(pilot, lambda: "ready (strokes)" in status.left)
            await pilot.press("s")
            await until(pilot, lambda: "ready (squeeze)" in status.left)

    asyncio.run(flow())


def test_the_users_own_hand_pumps_the_simulated_press_and_opens_its_valve(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await bench.client.call(
                run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL")
            )
            await until(pilot, lambda: app.screen.check_action("own_hand", ()))
            await pilot.press("space")  # still the operator's: the key does nothing
            await pilot.press("h")
            await until(pilot, lambda: said(app).startswith("the lever is in your hand"))
            for _ in range(40):
                await bench.pump()
            assert bench.daemon.press.snapshot().snapshot.state == "ready"
            for _ in range(80):
                await pilot.press("space")  # a pull lasts 0.6 s: the key is held
                for _ in range(5):
                    await bench.pump()
                if bench.daemon.press.snapshot().snapshot.stress_psi > 500:
                    break
            assert bench.daemon.press.snapshot().snapshot.state == "ramp"
            await pilot.press("v")
            for _ in range(400):  # the key reaches the press after a while on a busy machine
                await pilot.pause()
                await bench.pump()
                if bench.daemon.press.snapshot().snapshot.stress_psi < 20:
                    break
            assert bench.daemon.press.snapshot().snapshot.stress_psi < 20
            await pilot.press("h")
            await until(pilot, lambda: said(app).startswith("the lever is in the hand of the"))

    asyncio.run(flow())
