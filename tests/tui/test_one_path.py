"""The way from a sample that is planned to a run that is followed, on the real daemon."""

import asyncio

import pytest
from textual.widgets import Static

from ramphold.control import mass_methods, run_methods, sample_methods, specimen_methods
from ramphold.sample import CRUSH, Tick
from ramphold_tui.screens import BalanceScreen, PressScreen, WorksheetScreen
from ramphold_tui.widgets import BigText, WordLine
from support.dialogs import asks

pytestmark = pytest.mark.slow


def said(app):
    return app.screen.query_one("#said", WordLine).left


def is_on(app, kind):
    return lambda: isinstance(app.screen, kind)


def reads(app, word, name="todo"):
    return lambda: (
        bool(app.screen.query(f"#{name}"))
        and app.screen.query_one(f"#{name}", BigText).text == word
    )


async def planned(bench):
    """A sample with a planned stress, of which there is no specimen yet."""
    came_in = sample_methods.AddSampleParams(
        laboratory_number="26-0417", client_reference="pit 3", size="20/40", tests=(CRUSH,),
        operator="KL",
    )  # fmt: skip
    await bench.client.call(sample_methods.ADD_SAMPLE, came_in)
    wanted = sample_methods.PlanStressParams(
        sample=1, stress_psi=2000.0, replicates=1, operator="KL"
    )
    await bench.client.call(sample_methods.PLAN_STRESS, wanted)


async def weighed(bench):
    charge = mass_methods.WeighParams(
        test="crush", item="charge", specimen=1, mass_g=39.5, operator="KL"
    )
    await bench.client.call(mass_methods.WEIGH, charge)


async def specimen(bench):
    wanted = sample_methods.SampleParams(sample="26-0417")
    return (await bench.client.call(sample_methods.SAMPLE, wanted)).record.specimens[0]


async def asked_to_start(bench, app, pilot, until):
    """At the question of a specimen whose charge is weighed, with a load that rests."""
    app.initials = "KL"
    await weighed(bench)
    await bench.pass_time(3)
    await pilot.press("w")
    await until(pilot, lambda: app._workspace.sheet is not None)
    app._workspace.key = "specimen 1"
    await pilot.press("f5")
    await until(pilot, lambda: asks(app, "Follow the crush of S-1"))


def test_eight_keys_lead_from_an_unknown_specimen_to_its_run(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await planned(bench)
            app.initials = "KL"
            await pilot.press("w")
            await until(pilot, reads(app, "SPECIMEN"))
            keys = []

            async def press(key):
                keys.append(key)
                await pilot.press(key)

            await press("enter")
            await until(pilot, lambda: asks(app, "A specimen of 26-0417"))
            await press("enter")
            await until(pilot, reads(app, "TICK OFF"))
            await press("enter")
            await until(pilot, reads(app, "CHARGE"))
            await press("enter")
            await until(pilot, is_on(app, BalanceScreen))
            await bench.weigh(39.5)
            await until(pilot, reads(app, "CHARGE", "what"))
            await press("enter")
            await until(pilot, reads(app, "KEPT", "what"))
            await bench.pass_time(3)  # in which the load rests
            await press("enter")
            await until(pilot, lambda: asks(app, "Follow the crush of 2K-1"))
            await press("right")
            await press("enter")
            await until(pilot, is_on(app, PressScreen))
            await until(pilot, lambda: said(app) == "run 1 is being followed")
            assert len(keys) <= 8
            one = await specimen(bench)
            assert (one.ticks, one.balance.charge_g) == (tuple(Tick), 39.5)

    asyncio.run(flow())


def test_enter_alone_starts_no_run(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await asked_to_start(bench, app, pilot, until)
            await pilot.press("enter")
            await until(pilot, lambda: said(app) == "no run was started")
            assert bench.daemon.press.live is None
            assert (await specimen(bench)).ticks == (Tick.CUT,)

    asyncio.run(flow())


def test_a_run_can_be_started_without_confirming_what_was_not_done(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await asked_to_start(bench, app, pilot, until)
            await pilot.press("right", "right", "right", "enter")
            await until(pilot, is_on(app, PressScreen))
            assert bench.daemon.press.live is not None
            assert (await specimen(bench)).ticks == (Tick.CUT,)

    asyncio.run(flow())


def test_no_run_starts_where_the_zero_that_is_confirmed_is_not_taken(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await asked_to_start(bench, app, pilot, until)
            wanted = bench.daemon.press.readings_seen + 30
            for force_lbf in (5000.0, 9000.0) * 15:  # somebody works the lever
                bench.ports.send_load(force_lbf)
            await until(pilot, lambda: bench.daemon.press.readings_seen >= wanted)
            await pilot.press("right", "enter")
            await until(pilot, lambda: said(app).startswith("zero not taken: the load moves"))
            assert bench.daemon.press.live is None
            assert Tick.ZEROED not in (await specimen(bench)).ticks

    asyncio.run(flow())


def test_enter_at_the_press_waits_for_the_end_of_a_run_and_then_leads_on(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await weighed(bench)
            start = run_methods.StartRunParams(specimen=1, operator="KL")
            await bench.client.call(run_methods.START_RUN, start)
            await bench.pump()
            await until(pilot, lambda: app.bench.running)
            await pilot.press("enter")
            await until(pilot, lambda: said(app).startswith("the run is followed to its end"))
            ended = run_methods.EndRunParams(reason="hose", operator="KL")
            await bench.client.call(run_methods.END_RUN, ended)
            await bench.daemon.press.written()
            await until(pilot, lambda: not app.bench.running)
            await pilot.press("enter")
            await until(pilot, is_on(app, WorksheetScreen))

    asyncio.run(flow())


def test_enter_after_a_run_leads_to_its_specimen_and_then_to_the_next_part(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await planned(bench)
            wanted = specimen_methods.AddSpecimenParams(
                sample=1, label="2K-1", target_psi=2000.0, operator="KL"
            )
            await bench.client.call(specimen_methods.ADD_SPECIMEN, wanted)
            await weighed(bench)
            start = run_methods.StartRunParams(specimen=1, operator="KL")
            await bench.client.call(run_methods.START_RUN, start)
            await bench.pump()
            ended = run_methods.EndRunParams(reason="hose", operator="KL")
            await bench.client.call(run_methods.END_RUN, ended)
            await until(pilot, reads(app, "FAILED", "cue"))
            await pilot.press("enter")
            await until(pilot, reads(app, "DECIDE"))
            decision = specimen_methods.DecideRunParams(
                run=1, counts=True, reason="seen", operator="MB"
            )
            await bench.client.call(specimen_methods.DECIDE_RUN, decision)
            await until(pilot, reads(app, "SHAKE"))
            # Somebody else sieves and weighs it.
            pan = mass_methods.WeighParams(
                test="crush", item="pan", specimen=1, mass_g=2.0, operator="KL"
            )
            await bench.client.call(mass_methods.WEIGH, pan)
            await until(pilot, lambda: app._workspace.key != "specimen 1")

    asyncio.run(flow())


def test_after_a_decision_on_a_failed_run_the_press_says_what_follows_from_it(on_bench, until):
    def follows(app):
        return app.screen.query_one("#next").lines[0].text

    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            start = run_methods.StartRunParams(specimen=1, operator="KL")
            await bench.client.call(run_methods.START_RUN, start)
            await bench.pump()
            ended = run_methods.EndRunParams(reason="hose", operator="KL")
            await bench.client.call(run_methods.END_RUN, ended)
            await until(pilot, reads(app, "FAILED", "cue"))
            assert "decide whether it counts" in follows(app)
            for counts, word, step in (
                (True, "COUNTS", "sieve the specimen"),
                (False, "NOT COUNTED", "the next run"),
            ):
                decision = specimen_methods.DecideRunParams(
                    run=1, counts=counts, reason="seen", operator="MB"
                )
                await bench.client.call(specimen_methods.DECIDE_RUN, decision)
                await until(pilot, reads(app, word, "cue"))
                assert step in follows(app)

    asyncio.run(flow())


@pytest.mark.parametrize("place", ["i", "t", "f3", "f2"])
def test_enter_leads_back_to_the_worksheet_where_nothing_else_is_to_be_done(on_bench, until, place):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await pilot.press(place)
            await pilot.pause()
            await pilot.press("enter")
            await until(pilot, is_on(app, WorksheetScreen))
            assert not app.screen.query(Static)

    asyncio.run(flow())


def test_who_insists_with_a_reason_starts_a_run_though_the_database_takes_nothing(on_bench, until):
    # Fault: the ticks before it were refused, and so was the run, whatever the reason.
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await asked_to_start(bench, app, pilot, until)
            ticks, store = (await specimen(bench)).ticks, bench.daemon._store
            await store.run(lambda opened: opened.freeze())
            store.refused = "runs.sqlite3: can't grow: the disk is full, free some space"
            await pilot.press("escape")
            await until(pilot, is_on(app, WorksheetScreen))
            await pilot.press("f5")
            await until(pilot, lambda: asks(app, "Follow the crush of S-1"))
            text = "\n".join(str(one.content) for one in app.screen.query("Static"))
            assert "NOT KEPT if started now: the file can't grow" in text
            await pilot.press("right", "enter")
            await until(pilot, lambda: asks(app, "NOT STARTED: the file can't grow"))
            await pilot.press(*"due today", "enter")
            await until(pilot, is_on(app, PressScreen))
            assert bench.daemon.press.live.begun.plan.anyway == "due today"
            assert bench.daemon.press.snapshot().unwritten == store.refused
            assert (await specimen(bench)).ticks == ticks

    asyncio.run(flow())
