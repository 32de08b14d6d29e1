"""The screen on the real daemon and the simulated bench, worked by keys alone."""

import asyncio

import pytest

from ramphold.control import methods
from ramphold.control import sample_methods as samples
from ramphold.sample import Weighing
from ramphold_tui.screens import BalanceScreen, HelpScreen, InitialsDialog, Place, WorksheetScreen
from ramphold_tui.screens.dialogs import SpecimenDialog, StartDialog
from ramphold_tui.widgets import BigText, Rows, WordLine

pytestmark = pytest.mark.slow


def said(app):
    return app.screen.query_one("#said", WordLine).left


def fills(app):
    return app.screen.query_one("#fills", WordLine).left


async def crush(bench, pilot):
    """Let the simulated operator follow the run to its end."""
    while bench.daemon.press.live:
        await bench.pump()
        await asyncio.sleep(0)  # the screen lives in the same loop
    await bench.daemon.press.written()
    await pilot.pause()


async def masses(bench, number=1):
    detail = await bench.client.call(methods.SPECIMEN, methods.ById(id=number))
    return detail, {mass.what: mass for mass in detail.masses}


def test_a_whole_specimen_by_keys_only(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await pilot.press("f3", "f7")
            await until(pilot, lambda: isinstance(app.screen, InitialsDialog))
            await pilot.press(*"KL", "enter")
            await until(pilot, lambda: isinstance(app.screen, SpecimenDialog))
            await pilot.press(*"A-1", "enter", "enter", "enter")
            await until(pilot, lambda: said(app) == "recorded: A-1 at 4 000 psi")
            await until(pilot, lambda: fills(app) == "Enter keeps it as the charge of A-1")

            await bench.weigh(39.518)
            await pilot.press("enter")
            await until(pilot, lambda: said(app) == "kept: 39.518 g as the charge of A-1")
            await bench.weigh(112.436)
            await pilot.press("enter")
            await until(pilot, lambda: said(app) == "kept: 112.436 g as the empty pan of A-1")

            await pilot.press("f5")
            await until(pilot, lambda: isinstance(app.screen, StartDialog))
            await pilot.press("right", "enter")
            await until(pilot, lambda: said(app).startswith("run 1 is being followed"))
            await pilot.press("f2")
            await crush(bench, pilot)
            await until(pilot, lambda: app.screen.query_one("#cue", BigText).text == "COMPLETE")

            await pilot.press("f3")
            await until(pilot, lambda: fills(app) == "Enter keeps it as the pan with fines of A-1")
            await bench.weigh(115.998)
            await pilot.press("enter")
            await until(pilot, lambda: fills(app) == "next: done of A-1")

            detail, kept = await masses(bench)
            assert {what: mass.mass_g for what, mass in kept.items()} == {
                Weighing.CHARGE: 39.518,
                Weighing.PAN_EMPTY: 112.436,
                Weighing.PAN_FULL: 115.998,
            }
            assert {mass.operator for mass in detail.masses} == {"KL"}
            # 3.562 g of 39.518 g.
            assert detail.fines_pct == pytest.approx(9.0136, abs=0.0001)
            assert "9.01" in app.screen.query_one(Rows).rows[0]

    asyncio.run(flow())


def test_starting_a_run_needs_more_than_one_key(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await pilot.press("f3")
            await until(pilot, lambda: "S-1" in fills(app))
            await pilot.press("f5")
            await until(pilot, lambda: isinstance(app.screen, StartDialog))
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, BalanceScreen))
            assert bench.daemon.press.live is None

    asyncio.run(flow())


def test_a_moving_mass_is_refused_with_the_reason(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await pilot.press("f3")
            await until(pilot, lambda: "charge of S-1" in fills(app))
            bench.bench.balance.put(39.5, stable=False)
            await bench.pass_time(1.0)
            await until(pilot, lambda: app.bench.mass and app.bench.mass.state == "moving")
            await pilot.press("enter")
            await until(pilot, lambda: said(app).startswith("not kept: the balance is moving"))
            assert (await masses(bench))[1] == {}

    asyncio.run(flow())


def test_a_wrong_mass_is_corrected_with_a_reason_and_stays(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await pilot.press("f3")
            await until(pilot, lambda: "charge of S-1" in fills(app))
            await bench.weigh(35.0)
            await pilot.press("enter")
            await until(pilot, lambda: said(app).startswith("kept: 35.000 g"))
            await bench.weigh(39.52)
            await pilot.press("f6", *"spilt", "enter")
            await until(pilot, lambda: said(app) == "corrected: the charge is 39.520 g")
            detail, _ = await masses(bench)
            assert [(mass.mass_g, mass.reason) for mass in detail.masses] == [
                (35.0, None),
                (39.52, "spilt"),
            ]

    asyncio.run(flow())


def test_up_and_down_choose_the_specimen_that_is_weighed(on_bench, until):
    async def flow():
        async with on_bench(specimens=3) as (bench, app, pilot):
            app.initials = "KL"
            await pilot.press("f3")
            await until(pilot, lambda: "charge of S-1" in fills(app))
            await pilot.press("up")
            assert "charge of S-2" in fills(app)
            await pilot.press("up", "up", "up")
            assert "charge of S-3" in fills(app)
            await bench.weigh(39.6)
            await pilot.press("enter")
            await until(pilot, lambda: said(app) == "kept: 39.600 g as the charge of S-3")
            assert (await masses(bench, 3))[1][Weighing.CHARGE].mass_g == 39.6

    asyncio.run(flow())


def test_a_bad_target_is_said_while_it_is_typed(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            app.initials = "KL"
            await pilot.press("f3", "f7")
            await until(pilot, lambda: isinstance(app.screen, SpecimenDialog))
            await pilot.press(*"A-1", "enter", *"4000")
            wrong = app.screen.query_one("#wrong")
            await until(pilot, lambda: "'4000' has no unit" in str(wrong.content))
            await pilot.press("enter", "enter")
            assert isinstance(app.screen, SpecimenDialog)
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(app.screen, BalanceScreen))

    asyncio.run(flow())


@pytest.mark.parametrize("before", [(), ("f1",), ("f3",), ("f3", "f7"), ("f8",)])
def test_the_record_can_be_ended_in_every_place_by_one_key(on_bench, until, before):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            started = await bench.client.call(
                methods.START_RUN, methods.StartRun(specimen=1, operator="KL")
            )
            await pilot.press(*before)
            for _ in range(100):
                await bench.pump()
            await pilot.press("f9")
            await bench.daemon.press.written()
            run = (await bench.client.call(methods.RUN, methods.ById(id=started.run))).run
            assert (run.state, run.reason) == ("stopped", "ended: ended at the screen (KL)")
            place = next(screen for screen in app.screen_stack if isinstance(screen, Place))
            line = place.query_one("#said", WordLine)
            await until(pilot, lambda: line.left.endswith("kept; the press goes on"))

    asyncio.run(flow())


def test_without_a_run_there_is_nothing_to_end(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press("f9")
            await until(pilot, lambda: said(app).startswith("not ended: no run is live"))

    asyncio.run(flow())


def test_the_press_stays_in_sight_in_every_dialog(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await bench.client.call(methods.START_RUN, methods.StartRun(specimen=1, operator="KL"))
            for _ in range(260):
                await bench.pump()
            await pilot.press("f1")
            await until(pilot, lambda: isinstance(app.screen, HelpScreen))
            strip = app.screen.query_one(".strip", WordLine)
            await until(pilot, lambda: strip.left.startswith("press, ramp: "))
            assert strip.right.endswith(("ahead", "behind", "on the line"))

    asyncio.run(flow())


def test_the_style_of_pacing_is_changed_by_one_key(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await pilot.press("s")
            await until(pilot, lambda: said(app).startswith("style not changed: no run is live"))
            await bench.client.call(methods.START_RUN, methods.StartRun(specimen=1, operator="KL"))
            await bench.pump()
            await pilot.press("s")
            await until(pilot, lambda: said(app) == "paced in style strokes from now on")
            status = app.screen.query_one("#status", WordLine)
            await until(pilot, lambda: "ready by strokes" in status.left)
            await pilot.press("s")
            await until(pilot, lambda: "ready by squeeze" in status.left)

    asyncio.run(flow())


def test_the_worksheet_shows_a_sample_as_soon_as_it_came_in(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await pilot.press("w")
            await until(pilot, lambda: isinstance(app.screen, WorksheetScreen))
            came_in = samples.NewSample(
                laboratory_number="26-0417", client_reference="pit 3", size="20/40", operator="KL"
            )
            await bench.client.call(samples.ADD_SAMPLE, came_in)
            rows = app.screen.query_one(Rows)
            await until(pilot, lambda: len(rows.rows) == 1)
            assert rows.rows[0].split()[:4] == ["26-0417", "20/40", "sand", "received"]

    asyncio.run(flow())


def test_the_users_own_hand_pumps_the_simulated_press_and_opens_its_valve(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await bench.client.call(methods.START_RUN, methods.StartRun(specimen=1, operator="KL"))
            await pilot.press("space")  # still the operator's: the key does nothing
            await pilot.press("h")
            await until(pilot, lambda: said(app).startswith("the lever is in your hand"))
            for _ in range(40):
                await bench.pump()
            assert bench.daemon.press.snapshot().snapshot.state == "ready"
            for _ in range(400):
                await pilot.press("space")
                await bench.pump()
                if bench.daemon.press.snapshot().snapshot.stress_psi > 500:
                    break
            assert bench.daemon.press.snapshot().snapshot.state == "ramp"
            await pilot.press("v")
            await pilot.pause()
            for _ in range(40):
                await bench.pump()
            assert bench.daemon.press.snapshot().snapshot.stress_psi < 20
            await pilot.press("h")
            await until(pilot, lambda: said(app).startswith("the lever is in the hand of the"))

    asyncio.run(flow())
