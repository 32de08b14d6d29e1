"""Samples and worksheet on the real daemon and the simulated bench, worked by keys alone."""

import asyncio

import pytest
from textual.events import Key
from textual.widgets import Input

from ramphold.control import bench_methods, mass_methods, run_methods, sample_methods
from ramphold.sample import SIEVING, Tick
from ramphold_tui.screens import (
    PressScreen,
    SamplesScreen,
    WorksheetScreen,
)
from ramphold_tui.screens.choice_dialog import ChoiceDialog
from ramphold_tui.widgets import BigText, PressStrip, Rows, WordLine
from support.dialogs import asks

pytestmark = pytest.mark.slow
SIZES = [(80, 24), (100, 30), (120, 40)]


def said(app):
    return app.screen.query_one("#said", WordLine).left


def big(app):
    return app.screen.query_one("#todo", BigText).text


def rows(app):
    return app.screen.query_one(Rows).rows


def is_on(app, kind):
    return lambda: isinstance(app.screen, kind)


def in_sight(app, widget):
    return app.screen.region.contains_region(widget.region) and widget.region.area > 0


async def sheet(bench):
    wanted = sample_methods.SampleParams(sample="26-0417")
    return (await bench.client.call(sample_methods.SAMPLE, wanted)).record


async def at_worksheet(app, pilot, until):
    app.initials = "KL"
    await pilot.press("w")
    await until(pilot, lambda: isinstance(app.screen, WorksheetScreen) and rows(app))


def test_a_sample_is_received_field_by_field(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await pilot.press("w")
            await until(pilot, is_on(app, WorksheetScreen))
            assert big(app) == "NO SAMPLE"
            await pilot.press("f7")
            await until(pilot, lambda: asks(app, "Who works here?"))
            await pilot.press(*"KL", "enter")
            await until(pilot, lambda: asks(app, "A sample came in"))
            await pilot.press(*"26-0417", "enter", *"pit 3", "enter", "enter", *"20/40", "enter")
            await pilot.press("enter", "enter", *"turbidity, crush", "enter", *"bag torn", "enter")
            await until(pilot, lambda: asks(app, "Its receipt"))
            await pilot.press(*"North Sands", "enter", *"dry", "enter", *"belt", "enter")
            await pilot.press(*"22.5", "enter", *"45", "enter")
            await until(pilot, lambda: said(app) == "received: 26-0417")
            await until(pilot, lambda: big(app) == "ENTER")
            assert [row.split("  ")[0] for row in rows(app)] == ["turbidity", "crush"]
            sample = (await sheet(bench)).sample
            assert (sample.client_reference, sample.remarks) == ("pit 3", "bag torn")
            assert sample.operator == "KL"
            given = (sample.customer, sample.condition, sample.sampling)
            assert given == ("North Sands", "dry", "belt")
            room = [(one.what, one.value) for one in (await sheet(bench)).values]
            assert room == [("room temperature", 22.5), ("room humidity", 45)]

    asyncio.run(flow())


def test_each_error_is_said_under_its_field_while_one_types(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (_, app, pilot):
            app.initials = "KL"
            await pilot.press("w", "escape")
            await until(pilot, is_on(app, SamplesScreen))
            await pilot.press("f7")
            await until(pilot, lambda: asks(app, "A sample came in"))
            await pilot.press(*"26-0417")
            wrong = app.screen.query_one("#wrong-laboratory_number")
            await until(pilot, lambda: str(wrong.content).startswith("! 26-0417 is there already"))
            await pilot.press(*"b", "enter")
            await until(pilot, lambda: str(wrong.content) == "")
            # Enter in the last field goes back to the first one that is wrong.
            await pilot.press(*["enter"] * 7)
            await until(pilot, lambda: app.focused and app.focused.id == "client_reference")
            size = app.screen.query_one("#wrong-size")
            assert "is no size of proppant" in str(size.content)

    asyncio.run(flow())


@pytest.mark.parametrize("way_out", ["escape", "f2"])
def test_what_was_typed_of_a_sample_is_kept_however_it_is_left(on_bench, until, way_out):
    async def flow():
        async with on_bench() as (_, app, pilot):
            app.initials = "KL"
            await pilot.press("w", "f7")
            await until(pilot, lambda: asks(app, "A sample came in"))
            await pilot.press(*"26-0417", "enter", *"pit")
            await pilot.press(way_out)
            await until(pilot, lambda: not asks(app, "A sample came in"))
            await pilot.press("w")
            await until(pilot, lambda: said(app).startswith("not received yet: what was typed"))
            await pilot.press("f7")
            await until(pilot, lambda: asks(app, "A sample came in"))
            assert app.screen.texts["laboratory_number"] == "26-0417"
            assert app.screen.texts["client_reference"] == "pit"

    asyncio.run(flow())


def test_the_list_shows_each_sample_with_what_is_next_as_soon_as_it_came_in(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await pilot.press("w", "escape")
            await until(pilot, lambda: len(rows(app)) == 1 and "S-1" in rows(app)[0])
            came_in = sample_methods.AddSampleParams(
                laboratory_number="26-0418", client_reference="pit 4", size="40/70", operator="AB"
            )
            await bench.client.call(sample_methods.ADD_SAMPLE, came_in)
            await until(pilot, lambda: len(rows(app)) == 2)
            await until(pilot, lambda: rows(app)[0].endswith("weigh sieve No. 30, empty"))
            assert rows(app)[0].split()[0] == "26-0418"
            await pilot.press("down", "enter")
            await until(pilot, is_on(app, WorksheetScreen))
            title = app.screen.query_one("#sample", WordLine)
            assert title.left.startswith("26-0417")
            await pilot.press("left")
            await until(pilot, lambda: title.left.startswith("26-0418"))

    asyncio.run(flow())


def test_what_was_said_of_a_sample_is_put_right_with_a_reason(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await pilot.press("w", "escape")
            await until(pilot, lambda: "26-0417" in rows(app)[0])
            await pilot.press("f6")
            await until(pilot, is_on(app, ChoiceDialog))
            assert "client reference: pit 3" in rows(app)
            await pilot.press("enter")
            await until(pilot, lambda: asks(app, "26-0417: what was wrong? What is right?"))
            await pilot.press(*"b", "enter")
            await until(pilot, lambda: asks(app, "client reference is pit 3b, not pit 3: why?"))
            await pilot.press(*"misread", "enter")
            await until(pilot, lambda: said(app) == "corrected: client reference is pit 3b")
            record = await sheet(bench)
            assert record.sample.client_reference == "pit 3b"
            assert record.corrections[0].reason == "misread"

    asyncio.run(flow())


def test_a_stress_is_planned_where_it_tells_most_and_says_why(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await at_worksheet(app, pilot, until)
            await pilot.press("p")
            await until(pilot, lambda: asks(app, "Plan a stress"))
            wanted = sample_methods.SampleParams(sample=1)
            found = await bench.client.call(sample_methods.NEXT_STRESS, wanted)
            title = str(app.screen.query_one(".title").content)
            assert found.reason in title
            await pilot.press("enter", "enter")
            await until(pilot, lambda: said(app).startswith("planned: "))
            planned = [one.stress_psi for one in (await sheet(bench)).plan]
            assert planned == sorted([2000.0, found.stress_psi])

    asyncio.run(flow())


@pytest.mark.parametrize("between", ["enter", "down"])
def test_what_is_sent_in_one_burst_lands_in_the_fields_it_was_meant_for(on_bench, until, between):
    async def flow():
        async with on_bench(specimens=1) as (_, app, pilot):
            await at_worksheet(app, pilot, until)
            await pilot.press("p")
            await until(pilot, lambda: asks(app, "Plan a stress"))
            before = [
                app.screen.query_one(f"#{name}", Input).value for name in ("stress", "specimens")
            ]
            # As from a scanner, or by quick hands on a busy computer.
            for key in ("7", between, "9"):
                app.post_message(Key(key, key if len(key) == 1 else None))
            await pilot.pause()
            after = [
                app.screen.query_one(f"#{name}", Input).value for name in ("stress", "specimens")
            ]
            assert after == [f"{before[0]}7", f"{before[1]}9"]

    asyncio.run(flow())


def test_a_bad_target_is_said_while_it_is_typed_and_nothing_is_recorded(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            await at_worksheet(app, pilot, until)
            await pilot.press("f7")
            await until(pilot, lambda: asks(app, "A specimen of"))
            await pilot.press("down", *["backspace"] * 20, *"4000")
            wrong = app.screen.query_one("#wrong-target")
            await until(pilot, lambda: "'4000' has no unit" in str(wrong.content))
            await pilot.press("enter", "enter", "enter")
            assert asks(app, "A specimen of")
            await pilot.press("escape")
            await until(pilot, lambda: said(app) == "no specimen was recorded")
            assert len((await sheet(bench)).specimens) == 1

    asyncio.run(flow())


def test_a_tick_is_taken_by_one_key_and_taken_back_by_a_correction(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            weighed = mass_methods.WeighParams(
                test="crush", item="charge", specimen=1, mass_g=39.5, operator="KL"
            )
            await bench.client.call(mass_methods.WEIGH, weighed)
            await at_worksheet(app, pilot, until)
            app._workspace.key = "specimen 1"
            await pilot.press("f3", "w")
            await pilot.press("f6")
            await until(pilot, is_on(app, ChoiceDialog))
            await pilot.press("down", "enter")
            await until(pilot, lambda: said(app) == f"not done after all: {Tick.CUT}")
            await until(pilot, lambda: big(app) == "TICK OFF")
            await pilot.press("enter")
            await until(pilot, lambda: said(app) == f"ticked: {Tick.CUT}, S-1 at 2 000 psi")
            (one,) = (await sheet(bench)).specimens
            assert one.ticks == (Tick.CUT,)

    asyncio.run(flow())


def test_a_run_is_started_from_the_worksheet_in_the_style_that_is_chosen(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            weighed = mass_methods.WeighParams(
                test="crush", item="charge", specimen=1, mass_g=39.5, operator="KL"
            )
            await bench.client.call(mass_methods.WEIGH, weighed)
            await at_worksheet(app, pilot, until)
            app._workspace.key = "specimen 1"
            await pilot.press("f5")
            await until(pilot, lambda: asks(app, "Follow the crush of"))
            text = "\n".join(str(one.content) for one in app.screen.query("Static"))
            # 2000 psi over 3.1416 in2, and 2 % more in steps of 50 lbf: by hand.
            assert "2 000 psi, 6 283 lbf" in text
            assert "6 400 lbf" in text
            assert "bed level, piston turned: all done?" in text
            assert "is read now: there must be no load on the cell" in text
            await bench.pass_time(3)
            await pilot.press("right", "right", "enter")
            await until(pilot, is_on(app, PressScreen))
            await until(pilot, lambda: said(app).startswith("run 1 is being followed"))
            assert bench.daemon.press.snapshot().snapshot.style == "strokes"
            (one,) = (await sheet(bench)).specimens
            assert one.ticks == tuple(Tick)

    asyncio.run(flow())


@pytest.mark.parametrize("key", ["enter", "w"])
def test_after_a_run_the_press_leads_to_its_specimen_and_no_other_place_does(on_bench, until, key):
    async def flow():
        async with on_bench(specimens=3) as (bench, app, pilot):
            call = bench.client.call
            await at_worksheet(app, pilot, until)
            assert app._workspace.key == "specimen 1"
            await pilot.press("f2")
            await until(pilot, is_on(app, PressScreen))
            await call(run_methods.START_RUN, run_methods.StartRunParams(specimen=2, operator="KL"))
            await until(pilot, lambda: app.bench.running)
            for _ in range(100):
                await bench.pump()
            await call(run_methods.END_RUN, run_methods.EndRunParams(reason="hose", operator="KL"))
            await until(pilot, lambda: not app.bench.running)
            await pilot.press("t", "w")
            await until(pilot, is_on(app, WorksheetScreen))
            await pilot.pause()
            assert app._workspace.key == "specimen 1"
            await pilot.press("f2")
            await until(pilot, is_on(app, PressScreen))
            await pilot.press(key)
            await until(pilot, lambda: app._workspace.key == "specimen 2")
            # Once, not whenever somebody comes from the press.
            app._workspace.key = "specimen 3"
            await pilot.press("f2")
            await until(pilot, is_on(app, PressScreen))
            await pilot.press(key)
            await until(pilot, is_on(app, WorksheetScreen))
            await pilot.pause()
            assert app._workspace.key == "specimen 3"

    asyncio.run(flow())


def test_a_failed_run_is_decided_on_and_a_specimen_left_out_with_reasons(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            call = bench.client.call
            await call(run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL"))
            for _ in range(100):
                await bench.pump()
            await call(run_methods.END_RUN, run_methods.EndRunParams(reason="hose", operator="KL"))
            await bench.daemon.press.written()
            await at_worksheet(app, pilot, until)
            await until(pilot, lambda: any("decide: run 1 failed" in row for row in rows(app)))
            for down, reason, decided in (
                ([], "hose", "decided: run 1 does not count"),
                (["down", "down"], "spilt", "decided: leave S-1 out of the result"),
            ):
                # What is done leads on to the next part.
                app._workspace.key = "specimen 1"
                await pilot.press("d")
                await until(pilot, is_on(app, ChoiceDialog))
                await pilot.press(*down, "enter")
                why = f"{decided.removeprefix('decided: ')}: why?"
                await until(pilot, lambda: asks(app, why))  # noqa: B023 - awaited here
                await pilot.press(*reason, "enter")
                await until(pilot, lambda: said(app) == decided)  # noqa: B023 - awaited here
            record = await sheet(bench)
            assert [(one.counts, one.reason) for one in record.decisions] == [(False, "hose")]
            assert [one.reason for one in record.exclusions] == ["spilt"]

    asyncio.run(flow())


def test_an_unseen_warning_stands_on_the_worksheet_with_load_and_margin(on_bench, until):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            start = run_methods.StartRunParams(specimen=1, operator="KL", ceiling_lbf=6300.0)
            await bench.client.call(run_methods.START_RUN, start)
            await at_worksheet(app, pilot, until)
            for _ in range(100):
                await bench.pump()
            bench.ports.send_load(7000.0)
            for _ in range(5):
                bench.ports.send_load(7000.0)
            strip = app.screen.query_one(PressStrip)
            await until(pilot, lambda: "OVER CEILING" in strip.left)
            assert "over the ceiling" in strip.right
            await pilot.press("f4")
            await until(pilot, lambda: "OVER CEILING" not in strip.left)

    asyncio.run(flow())


def test_a_touch_chooses_a_part_and_a_second_one_does_what_is_next(on_bench, until):
    async def flow():
        async with on_bench(specimens=2) as (_, app, pilot):
            await at_worksheet(app, pilot, until)
            place = next(n for n, row in enumerate(rows(app)) if "S-2" in row)
            await pilot.click(Rows, offset=(4, place))
            await until(pilot, lambda: app._workspace.key == "specimen 2")
            await pilot.click(Rows, offset=(4, place))
            await until(pilot, lambda: app.screen.query("#what"))
            assert "S-2" in app.screen.query_one("#fills", WordLine).left

    asyncio.run(flow())


@pytest.mark.parametrize("size", SIZES)
def test_every_size_shows_what_is_next_in_letters_five_rows_high(on_bench, until, size):
    async def flow():
        async with on_bench(specimens=3, size=size) as (_, app, pilot):
            await at_worksheet(app, pilot, until)
            for name in ("#sample", "#todo", "#todo-detail", "#parts", "#said", "KeyBar"):
                assert in_sight(app, app.screen.query_one(name)), name
            assert app.screen.query_one("#todo").region.height >= 5
            assert app.screen.query_one("#parts").region.height >= 8
            end = "F9 end record"
            line = app.screen.query_one("KeyBar")
            assert end in "".join(text for text, _ in line.draw_row(0, line.size.width))

    asyncio.run(flow())


@pytest.mark.parametrize("size", SIZES)
def test_every_size_shows_the_whole_form_of_a_sample(on_bench, until, size):
    async def flow():
        async with on_bench(specimens=1, size=size) as (_, app, pilot):
            app.initials = "KL"
            await pilot.press("w", "escape")
            await until(pilot, is_on(app, SamplesScreen))
            await pilot.press("f7")
            await until(pilot, lambda: asks(app, "A sample came in"))
            for widget in (*app.screen.query(Input), app.screen.query_one("#hint")):
                assert in_sight(app, widget), widget
            await pilot.press(*"26-0418", "enter", *"pit", "enter", "enter", *"20/40")
            await pilot.press(*["enter"] * 5)
            await until(pilot, lambda: asks(app, "Its receipt"))
            for widget in (*app.screen.query(Input), app.screen.query_one("#hint")):
                assert in_sight(app, widget), widget

    asyncio.run(flow())


@pytest.mark.parametrize("serials", [("A",), ("A", "B")], ids=["one in use", "two in use"])
def test_a_sieve_is_chosen_by_one_key_where_one_is_in_use_and_from_a_list_of_two(
    on_bench, until, serials
):
    async def flow():
        async with on_bench(specimens=1) as (bench, app, pilot):
            for serial in serials:
                checked = bench_methods.CheckEquipmentParams(
                    equipment="sieve", name=serial, sieve=40, measured=0.4262,
                    finding="no tears", operator="KL",
                )  # fmt: skip
                await bench.client.call(bench_methods.CHECK_EQUIPMENT, checked)
            await at_worksheet(app, pilot, until)
            await until(pilot, lambda: big(app) == "SIEVE")
            await pilot.press("enter")
            if len(serials) > 1:
                await until(pilot, lambda: asks(app, "Sieve No. 40: cut"))
                await pilot.press("down", "enter")
            await until(pilot, lambda: said(app).startswith(f"sieve {serials[-1]}, cut"))
            await until(pilot, lambda: big(app) != "SIEVE")
            (chosen,) = (await sheet(bench)).sieves
            assert (chosen.serial, chosen.opening_mm) == (serials[-1], 0.4262)

    asyncio.run(flow())


def test_the_sieves_of_the_stack_are_chosen_at_once_and_only_two_of_a_number_are_asked_about(
    on_bench, until
):
    async def flow():
        async with on_bench(specimens=1, tests=(SIEVING,)) as (bench, app, pilot):
            for serial, number in (("20-A", 20), ("25-A", 25), ("25-B", 25), ("40-A", 40)):
                checked = bench_methods.CheckEquipmentParams(
                    equipment="sieve", name=serial, sieve=number, finding="no tears", operator="KL"
                )
                await bench.client.call(bench_methods.CHECK_EQUIPMENT, checked)
            await at_worksheet(app, pilot, until)
            await until(pilot, lambda: big(app) == "SIEVE")
            assert any("choose sieves: 3 of the stack" in row for row in rows(app))
            await pilot.press("enter")
            await until(pilot, lambda: asks(app, "Sieve No. 25: sieve analysis"))
            await pilot.press("down", "enter")
            await until(pilot, lambda: said(app).startswith("sieve 20-A, 25-B, 40-A, sieve anal"))
            await until(pilot, lambda: big(app) == "NO.16 EMPTY")
            found = (await sheet(bench)).sieving.sieves
            assert [one.serial for one in found.values()] == ["20-A", "25-B", "40-A"]

    asyncio.run(flow())


def test_the_instrument_of_a_test_is_chosen_by_one_key_and_its_values_typed_with_spaces(
    on_bench, until
):
    async def flow():
        async with on_bench(specimens=1, tests=("turbidity",)) as (bench, app, pilot):
            checked = bench_methods.CheckEquipmentParams(
                equipment="instrument", name="T-1", test="turbidity", finding="calibrated",
                operator="KL",
            )  # fmt: skip
            await bench.client.call(bench_methods.CHECK_EQUIPMENT, checked)
            await at_worksheet(app, pilot, until)
            await until(pilot, lambda: big(app) == "DEVICE")
            await pilot.press("enter")
            await until(pilot, lambda: said(app).startswith("turbidity with T-1; for this sample"))
            await until(pilot, lambda: big(app) == "ENTER")
            await pilot.press("enter")
            await until(pilot, lambda: asks(app, "Enter turbidity"))
            await pilot.press(*"60 62", "enter")
            await until(pilot, lambda: said(app) == "entered: turbidity")
            (found,) = (await sheet(bench)).properties
            assert (found.value, found.determinations) == (61.0, (60.0, 62.0))

    asyncio.run(flow())
