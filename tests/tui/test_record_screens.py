"""Results, instruments and sieve timers on the real daemon and the simulated bench."""

import asyncio
from itertools import product

import pytest

from ramphold.clock import NS_PER_S
from ramphold.control import (
    act,
    bench_methods,
    mass_methods,
    run_methods,
    sample_methods,
    shaker_methods,
    specimen_methods,
)
from ramphold.core import Style
from ramphold.demo import SimulatedBench
from ramphold.sample import CRUSH, Load
from ramphold_tui import paint_times
from ramphold_tui.screens import (
    BalanceScreen,
    InstrumentsScreen,
    PressScreen,
    ResultsScreen,
    TimersScreen,
    WorksheetScreen,
)
from ramphold_tui.screens.past_run_screen import PastRunScreen
from ramphold_tui.view.elements import Sound
from ramphold_tui.view.press_alarms import unseen
from ramphold_tui.view.tones import RHYTHMS
from ramphold_tui.widgets import (
    BigText,
    FinesPlot,
    KeyBar,
    MeterList,
    PressStrip,
    Rows,
    TextBlock,
    TracePlot,
    WordLine,
)
from ramphold_tui.widgets.drawn import Drawn
from support.dialogs import asks

pytestmark = pytest.mark.slow

SIZES = [(80, 24), (100, 30), (120, 40)]
PLACES = {
    "f2": PressScreen,
    "f3": BalanceScreen,
    "w": WorksheetScreen,
    "r": ResultsScreen,
    "i": InstrumentsScreen,
    "t": TimersScreen,
}


async def stand_at_any_size(app, pilot, *names):
    """Each of these has room, and stands within the screen, at every size."""
    for size in SIZES:
        await pilot.resize_terminal(*size)
        for name in names:
            region = app.screen.query_one(name).region
            assert region.area, (size, name)
            assert app.screen.region.contains_region(region), (size, name)


def line(app, selector):
    return app.screen.query_one(selector, WordLine)


def said(app):
    return line(app, "#said").left


def lines(app, selector):
    return [row.text for row in app.screen.query_one(selector, TextBlock).lines]


def on_screen(app):
    """All that our own widgets draw, row by row."""
    return [
        "".join(segment.text for segment in widget.render_line(row))
        for widget in app.screen.query(Drawn)
        for row in range(widget.size.height)
    ]


def words(app):
    """All that is said, in letters of any size."""
    return [*on_screen(app), *(one.text for one in app.screen.query(BigText))]


async def go(app, pilot, until, key):
    await pilot.press(key)
    await until(pilot, lambda: isinstance(app.screen, PLACES[key]) and app.screen.is_current)


async def a_sample(bench, tests=(CRUSH,)):
    wanted = sample_methods.AddSampleParams(
        laboratory_number="26-0417",
        client_reference="pit 3",
        size="20/40",
        tests=tests,
        operator="KL",
    )
    return await bench.client.call(sample_methods.ADD_SAMPLE, wanted)


async def crushed(bench, sample=None, *, psi=1000.0, fines_g=None, label="a"):
    """A specimen that was crushed with a short hold, and weighed where there are fines."""
    ask = bench.client.call
    wanted = specimen_methods.AddSpecimenParams(
        label=label, target_psi=psi, sample=sample, operator="KL"
    )
    specimen = (await ask(specimen_methods.ADD_SPECIMEN, wanted)).specimen
    bench.lay_bed()
    start = run_methods.StartRunParams(specimen=specimen, hold_s=5.0, operator="KL")
    await ask(run_methods.START_RUN, start)
    while bench.daemon.press.live:
        await bench.pump()
        await asyncio.sleep(0)  # the screen lives in the same loop
    await bench.daemon.press.written()
    if fines_g is not None:
        for item, mass_g in (("charge", 40.0), ("pan", fines_g)):
            weigh = mass_methods.WeighParams(
                test=CRUSH,
                item=item,
                load=Load.NET,
                specimen=specimen,
                mass_g=mass_g,
                operator="KL",
            )
            await ask(mass_methods.WEIGH, weigh)
    return specimen


async def shaken(bench, specimen, planned_s=600.0):
    wanted = shaker_methods.StartShakingParams(
        specimen=specimen, planned_s=planned_s, operator="KL"
    )
    await bench.client.call(shaker_methods.START_SHAKING, wanted)


async def read(bench, *forces_lbf):
    """Have the load line show these, as bytes, one every tenth of a second."""
    press = bench.daemon.press
    for force_lbf in forces_lbf:
        seen = press.readings_seen
        bench.clock.advance_to(bench.clock.now_ns() + NS_PER_S // 10)
        bench.ports.send_load(force_lbf)
        while press.readings_seen == seen:
            press.read_one.clear()
            await press.read_one.wait()


# --- results -----------------------------------------------------------------------------------


def test_the_results_follow_what_is_written_down(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            sample = (await a_sample(bench)).sample
            await go(app, pilot, until, "r")
            title = line(app, "#title")
            await until(
                pilot, lambda: title.left == "results  26-0417  20/40 sand  received  pit 3"
            )
            for psi, fines_g in ((1000.0, 2.0), (1000.0, 2.2), (2000.0, 6.0)):
                await crushed(bench, sample, psi=psi, fines_g=fines_g)
            rows = app.screen.query_one("#runs", Rows)
            await until(pilot, lambda: any("15.00" in row for row in rows.rows))
            await until(pilot, lambda: app.screen.query_one("#class", BigText).text == "1K")
            await until(pilot, lambda: lines(app, "#class-words")[0].startswith("class so far"))
            for size in SIZES:
                await pilot.resize_terminal(*size)
                for words in (["10 %"], ["OVER", "15.00"]):
                    await until(
                        pilot,
                        lambda: any(all(one in row for one in words) for row in on_screen(app)),  # noqa: B023
                    )
                assert any(row.startswith("next: ") for row in lines(app, "#class-words")), size
            await stand_at_any_size(
                app, pilot, "#class", "#class-words", "#fines", "#runs", "#because", "#said"
            )

            out = specimen_methods.DecideExclusionParams(
                specimen=3, excluded=True, reason="spilt", operator="KL"
            )
            await bench.client.call(specimen_methods.DECIDE_EXCLUSION, out)
            await until(pilot, lambda: "left out by KL: spilt" in rows.rows[2])
            assert rows.rows[2].startswith("x ")

    asyncio.run(flow())


def test_a_past_run_is_shown_with_its_trace_and_its_checks(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            sample = (await a_sample(bench)).sample
            for label in ("a", "b"):
                await crushed(bench, sample, label=label)
            await go(app, pilot, until, "r")
            await until(pilot, lambda: len(app.screen.query_one("#runs", Rows).rows) == 2)
            await pilot.press("down", "enter")
            await until(pilot, lambda: isinstance(app.screen, PastRunScreen))
            title = line(app, "#run-title")
            await until(pilot, lambda: title.left.startswith("run 2  b  1 000 psi"))
            whole, near = (
                app.screen.query_one(name, TracePlot) for name in ("#whole", "#hold-near")
            )
            await until(pilot, lambda: whole.plot is not None and near.plot is not None)
            checks = lines(app, "#checks")
            assert checks[1].removeprefix("! ").split()[:2] == ["ramp", "rate"]
            assert len(checks) == 12
            await stand_at_any_size(app, pilot, "#whole", "#hold-near", "#checks", "#run-keys")
            await pilot.press("up")
            await until(pilot, lambda: title.left.startswith("run 1  a"))
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(app.screen, ResultsScreen))

    asyncio.run(flow())


def test_runs_of_no_sample_are_found_past_the_oldest_sample_and_by_touch(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await a_sample(bench)
            await crushed(bench, label="lone")
            await go(app, pilot, until, "r")
            await until(pilot, lambda: "26-0417" in line(app, "#title").left)
            await pilot.press("right")
            runs = app.screen.query_one("#runs", Rows)
            await until(pilot, lambda: len(runs.rows) == 1)
            assert "all runs" in line(app, "#title").left
            await pilot.click("#runs", offset=(3, 0))
            await until(pilot, lambda: isinstance(app.screen, PastRunScreen))
            await until(pilot, lambda: line(app, "#run-title").left.startswith("run 1  lone"))

    asyncio.run(flow())


def test_a_specimen_without_a_run_has_none_to_show(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            sample = (await a_sample(bench)).sample
            wanted = specimen_methods.AddSpecimenParams(
                label="a", target_psi=4000.0, sample=sample, operator="KL"
            )
            await bench.client.call(specimen_methods.ADD_SPECIMEN, wanted)
            await go(app, pilot, until, "r")
            await until(pilot, lambda: len(app.screen.query_one("#runs", Rows).rows) == 1)
            assert app.screen.query_one(FinesPlot).figure is None
            await pilot.press("enter")
            await until(pilot, lambda: said(app) == "this specimen has no run yet")

    asyncio.run(flow())


# --- instruments -------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_a_zero_is_a_deliberate_act_and_shows_at_once(on_bench, until, size):
    async def flow():
        async with on_bench(size=size) as (bench, app, pilot):
            app.initials = "KL"
            await bench.pass_time(3.0)
            await go(app, pilot, until, "i")
            await until(pilot, lambda: any("DEMO-1" in row for row in lines(app, "#facts")))
            assert "load zero    - due today, never made" in lines(app, "#daily")
            await pilot.press("z")
            await until(pilot, lambda: asks(app, "Take the load's zero now?"))
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, InstrumentsScreen))
            assert lines(app, "#daily")[0] == "load zero    - due today, never made"
            await pilot.press("z")
            await until(pilot, lambda: asks(app, "Take the load's zero now?"))
            await pilot.press("right", "enter")
            await until(pilot, lambda: said(app).startswith("zero taken: "))
            await until(pilot, lambda: lines(app, "#daily")[0].startswith("load zero    = done"))
            book = await bench.client.call(bench_methods.BENCH_RECORD, act.NoParams())
            assert [(check.rule, check.operator) for check in book.checks] == [("load zero", "KL")]
            for name in ("#facts", "#daily", "#said"):
                assert app.screen.region.contains_region(app.screen.query_one(name).region), name

    asyncio.run(flow())


def test_a_zero_over_its_limit_is_counted_from_only_for_a_reason(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            app.initials = "KL"
            bench.daemon.in_force.take_zero(500.0)  # 1 % of the full range; 0.1 % fails
            await bench.pass_time(3.0)
            await go(app, pilot, until, "i")
            for reason in ("", "a new cable"):
                await pilot.press("z")
                await until(pilot, lambda: asks(app, "Take the load's zero now?"))
                await pilot.press("right", "enter")
                await until(pilot, lambda: asks(app, "NOT TAKEN: the zero moved by"))
                if not reason:
                    # Without one there is no way on but back.
                    await pilot.press("enter")
                    assert asks(app, "NOT TAKEN: the zero moved by")
                    await pilot.press("escape")
                    await until(pilot, lambda: said(app).startswith("zero NOT taken: it moved by"))
                    await until(pilot, lambda: isinstance(app.screen, InstrumentsScreen))
                    assert bench.daemon.in_force.zero == 500.0
            await pilot.press(*reason.replace(" ", "_"), "enter")
            await until(pilot, lambda: said(app).startswith("zero taken over its limit"))
            assert abs(bench.daemon.in_force.zero) < 50.0
            book = await bench.client.call(bench_methods.BENCH_RECORD, act.NoParams())
            kept = [(check.verdict, check.anyway) for check in book.checks]
            assert kept[-2:] == [("failed", None), ("good", "a_new_cable")]
            await until(pilot, lambda: "! taken over" in lines(app, "#daily")[0])

    asyncio.run(flow())


def test_no_zero_is_taken_under_a_live_run(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await bench.client.call(
                run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL")
            )
            for _ in range(30):
                await bench.pump()
            await until(pilot, lambda: app.bench.running)
            await go(app, pilot, until, "i")
            await pilot.press("z")
            await until(pilot, lambda: said(app).startswith("zero not taken: a run is live"))
            assert isinstance(app.screen, InstrumentsScreen)

    asyncio.run(flow())


def test_a_key_is_answered_by_what_is_known_however_late_the_place_is_painted(
    on_bench, until, monkeypatch
):
    """A busy machine paints later than its operator types."""

    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            for name in ("_EVERY_S", "_FAST_EVERY_S", "_IDLE_S"):
                monkeypatch.setattr(paint_times, name, 60.0)
            await bench.client.call(
                run_methods.START_RUN,
                run_methods.StartRunParams(specimen=1, style=Style.STROKES, operator="KL"),
            )
            await bench.pump()
            await until(pilot, lambda: app.bench.running)
            await pilot.press("enter")
            await until(pilot, lambda: said(app).startswith("the run is followed to its end"))
            await pilot.press("s")
            await until(pilot, lambda: said(app) == "paced in style squeeze from now on")
            await pilot.press("i", "z")
            await until(pilot, lambda: isinstance(app.screen, InstrumentsScreen))
            await until(pilot, lambda: said(app).startswith("zero not taken: a run is live"))

    asyncio.run(flow())


def test_an_answer_that_comes_after_the_instruments_have_gone_breaks_nothing(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await go(app, pilot, until, "i")
            await until(pilot, lambda: lines(app, "#facts"))
            place = app.screen
            await place.remove_children()
            await place._look()

    asyncio.run(flow())


def test_a_hand_is_shown_after_its_run_and_forgotten_only_by_an_answer(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "MB"
            await go(app, pilot, until, "i")
            await until(pilot, lambda: len(lines(app, "#hands")) == 3)
            await pilot.press("f")
            await until(pilot, lambda: said(app).startswith("no hand is known yet"))
            started = run_methods.StartRunParams(specimen=1, hold_s=5.0, operator="KL")
            await bench.client.call(run_methods.START_RUN, started)
            while bench.daemon.press.live:
                await bench.pump()
            name = f"KL at {bench.config.bench}"
            await until(pilot, lambda: any(name in line for line in lines(app, "#hands")))
            for answer in ("enter", "right"):
                await pilot.press("f")
                await until(pilot, lambda: asks(app, "Forget which hand?"))
                await pilot.press("enter")
                await until(pilot, lambda: asks(app, f"Forget the hand of {name}?"))
                await pilot.press(answer, *["enter"] * (answer == "right"))
                await until(pilot, lambda: isinstance(app.screen, InstrumentsScreen))
            await until(pilot, lambda: said(app) == f"forgotten: the hand of {name}")
            await until(pilot, lambda: len(lines(app, "#hands")) == 3)
            await stand_at_any_size(app, pilot, "#hands", "#said")

    asyncio.run(flow())


def test_wear_and_what_is_wrong_with_an_instrument_are_in_sight(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            worn = bench_methods.CheckEquipmentParams(
                equipment="cell",
                name="A",
                measured=2.03,
                nominal=2.0,
                finding="scored",
                operator="KL",
            )
            await bench.client.call(bench_methods.CHECK_EQUIPMENT, worn)
            await go(app, pilot, until, "i")
            bars = app.screen.query_one(MeterList)
            await until(pilot, lambda: bars.meters and bars.meters[0].text.startswith("DUE"))
            bench.ports.unplug("balance")
            await until(
                pilot, lambda: any(row.startswith("! balance: ") for row in lines(app, "#facts"))
            )

    asyncio.run(flow())


# --- sieve timers ------------------------------------------------------------------------------


def test_several_timers_are_started_by_a_key_and_seen_in_every_place(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            app.initials = "KL"
            sample = (await a_sample(bench)).sample
            for label in ("a", "b"):
                number = await crushed(bench, sample, label=label)
                counts = specimen_methods.DecideRunParams(
                    run=number, counts=True, reason="short", operator="KL"
                )
                await bench.client.call(specimen_methods.DECIDE_RUN, counts)
            await go(app, pilot, until, "t")
            waiting, bars = app.screen.query_one("#waiting", Rows), app.screen.query_one(MeterList)
            await until(pilot, lambda: len(waiting.rows) == 2)
            await pilot.press("down", "enter")
            await until(pilot, lambda: said(app).startswith("timer started: b, 26-0417, 10:"))
            await until(pilot, lambda: len(bars.meters) == 1 and len(waiting.rows) == 1)
            await pilot.press("t")
            await until(pilot, lambda: len(bars.meters) == 2)
            big = app.screen.query_one("#next-done", BigText).text
            assert big in {"10:00", "9:59", "9:58", "9:57", "9:56", "9:55"}
            await stand_at_any_size(app, pilot, "#next-done", "#next-label", "#sieves", "#said")
            for size in SIZES:
                await pilot.resize_terminal(*size)
                for key in PLACES:
                    await go(app, pilot, until, key)
                    app.screen.say("", tone="faded")
                    await until(
                        pilot, lambda: line(app, "#said").right.startswith("sieve 2 running, next ")
                    )
            await pilot.press("t", "o")
            await until(pilot, lambda: said(app) == "taken off: b, 26-0417")
            await until(pilot, lambda: len(app.bench.sieves) == 1)

    asyncio.run(flow())


def test_a_timer_rings_once_at_its_end_and_says_so(on_bench, until, monkeypatch):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            rung = []
            # The terminal's bell, which Textual leaves out where there is no terminal.
            monkeypatch.setattr(app._player, "_bell", lambda: rung.append(1))
            await shaken(bench, 1, planned_s=2.0)
            await until(pilot, lambda: line(app, "#said").right.startswith("sieve 1 running"))
            assert rung == []
            await until(pilot, lambda: line(app, "#said").right.startswith("! SIEVE DONE: 1"))
            strokes = len(RHYTHMS[Sound.SIEVE_DONE].strokes_s)
            await until(pilot, lambda: len(rung) == strokes)
            await go(app, pilot, until, "t")
            await until(pilot, lambda: app.screen.query_one("#next-done", BigText).text == "DONE")
            assert len(rung) == strokes
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, WorksheetScreen))

    asyncio.run(flow())


def test_timers_survive_screen_and_daemon(tmp_path, shown, until):
    socket = tmp_path / "control.sock"

    async def flow():
        async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
            wanted = specimen_methods.AddSpecimenParams(
                label="S-1", target_psi=2000.0, operator="KL"
            )
            await bench.client.call(specimen_methods.ADD_SPECIMEN, wanted)
            await shaken(bench, 1)
            async with shown(socket) as (app, pilot):
                await until(pilot, lambda: len(app.bench.sieves) == 1)
        again = SimulatedBench(tmp_path, seed=3, speed=None)
        again.clock.advance_to(240 * NS_PER_S)
        async with again, shown(socket) as (app, pilot):
            await until(pilot, lambda: len(app.bench.sieves) == 1)
            # 10 minutes, of which 4 have passed while nobody looked.
            left_s = app.bench.sieves[0].to_go_s(app._clock.now_ns())
            assert 350 < left_s <= 360

    asyncio.run(flow())


def test_the_key_line_can_be_touched(on_bench, until):
    async def flow():
        async with on_bench() as (_, app, pilot):
            await go(app, pilot, until, "t")
            drawn = app.screen.query_one(KeyBar).render_line(0).text
            await pilot.click(KeyBar, offset=(drawn.index("F2") + 1, 0))
            await until(pilot, lambda: isinstance(app.screen, PressScreen))
            await go(app, pilot, until, "i")
            drawn = app.screen.query_one(KeyBar).render_line(0).text
            await pilot.click(KeyBar, offset=(drawn.index("Z zero") + 1, 0))
            await until(pilot, lambda: asks(app, "Who works here?"))

    asyncio.run(flow())


# --- in every place ----------------------------------------------------------------------------


@pytest.mark.parametrize("key", PLACES)
def test_a_lost_link_is_said_at_once_and_what_is_old_is_grey_until_it_returns(
    tmp_path, shown, until, key
):
    socket = tmp_path / "control.sock"

    def strip():
        found = app.screen.query(PressStrip)
        return next(iter(found), None) or app.screen.query_one("#status", WordLine)

    def told():
        return list(app.screen.query(".told, .told Drawn"))

    async def flow():
        nonlocal app
        async with shown(socket) as (app, pilot):
            async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
                await bench.pass_time(1.0)
                await until(pilot, lambda: app.bench.live is not None and app.bench.lost is None)
                await go(app, pilot, until, key)
                await until(pilot, lambda: "NO LINK" not in strip().left + strip().right)
                assert not any(one.has_class("-lost") for one in told())
            await until(pilot, lambda: "NO LINK" in strip().left + strip().right)
            await until(pilot, lambda: told() and all(one.has_class("-lost") for one in told()))
            if key != "f2":  # which has it over its digits
                await until(pilot, lambda: strip().right.startswith("all as of "))
            again = SimulatedBench(tmp_path, seed=3, speed=None)
            again.clock.advance_to(100 * NS_PER_S)
            async with again:
                await until(pilot, lambda: "NO LINK" not in strip().left + strip().right)
                await until(
                    pilot,
                    lambda: not any(one.has_class("-lost") for one in told()),
                )

    app = None
    asyncio.run(flow())


@pytest.mark.parametrize("key", PLACES)
def test_a_latched_warning_is_seen_in_every_place_until_it_is_acknowledged(on_bench, until, key):
    async def flow():
        async with on_bench(specimens=1, size=(100, 30)) as (bench, app, pilot):
            await bench.client.call(
                run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL")
            )
            # 2000 psi in a bore of 2 in. are 6283 lbf; the ceiling is at 6400.
            await read(bench, *range(0, 6300, 50), 6500.0, 6501.0, 6502.0, 6503.0)
            await go(app, pilot, until, key)
            # At the press it is drawn in large letters.
            await until(pilot, lambda: any("OVER CEILING" in one for one in words(app)))
            await read(bench, *range(6000, 5000, -50))
            await pilot.press("f4")
            await until(pilot, lambda: not unseen(app.bench.snapshot))

    asyncio.run(flow())


def test_the_results_show_the_sample_that_is_worked_on(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await a_sample(bench)
            newer = sample_methods.AddSampleParams(
                laboratory_number="26-0418", client_reference="pit 4", size="20/40", operator="KL"
            )
            await bench.client.call(sample_methods.ADD_SAMPLE, newer)
            await go(app, pilot, until, "r")
            title = line(app, "#title")
            await until(pilot, lambda: "26-0418" in title.left)
            await go(app, pilot, until, "w")
            await app.screen.open_sample(1)
            await go(app, pilot, until, "r")
            await until(pilot, lambda: "26-0417" in title.left)

    asyncio.run(flow())


def test_in_every_place_all_stands_one_column_in_and_within_the_screen(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await crushed(bench, (await a_sample(bench)).sample, fines_g=2.0)
            for key, size in product(PLACES, SIZES):
                await pilot.resize_terminal(*size)
                await go(app, pilot, until, key)
                await pilot.pause(0.2)
                for widget in app.screen.query(
                    "Screen > WordLine, Screen > TextBlock, Screen > Rows"
                ):
                    if widget.region.area:
                        inner = widget.content_region
                        assert inner.x == 1, (key, size, widget)
                        assert app.screen.region.contains_region(inner), (key, size, widget)

    asyncio.run(flow())


def test_what_is_said_of_a_class_is_whole_or_counted_in_a_small_terminal(on_bench, until):
    async def flow():
        async with on_bench(size=(120, 40)) as (bench, app, pilot):
            sample = (await a_sample(bench)).sample
            for label in ("a", "b"):
                await crushed(bench, sample, label=label, fines_g=1.8)
            await go(app, pilot, until, "r")
            await until(pilot, lambda: len(lines(app, "#class-words")) > 3)
            whole = lines(app, "#class-words")
            await pilot.resize_terminal(60, 20)
            await until(pilot, lambda: "not shown: " in lines(app, "#class-words")[-1])
            shown = lines(app, "#class-words")
            left = len(whole) - len(shown)
            assert shown == [
                *whole[: len(shown) - 1],
                f"{whole[len(shown) - 1]}; not shown: {left}",
            ]
            block = app.screen.query_one("#class-words", TextBlock)
            rows = [row for one in shown for row in block.rows_of(one, block.size.width)]
            assert len(rows) <= block.size.height

    asyncio.run(flow())
