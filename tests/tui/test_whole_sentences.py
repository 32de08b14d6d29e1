"""What is written on the screen is there whole, at every size and with the longest of values."""

import asyncio

import pytest

from ramphold.control import run_methods, sample_methods, shaker_methods, specimen_methods
from ramphold.sample import CRUSH, DENSITY, SIEVING, Tick
from ramphold_tui.screens import PressScreen
from ramphold_tui.view import formats
from ramphold_tui.view.elements import Tone
from ramphold_tui.widgets import Rows, TextBlock, WordLine
from support.dialogs import asks

pytestmark = pytest.mark.slow

SIZES = [(80, 24), (120, 40), (60, 20)]
LONG = "the seal of the ram wept from 31 s on and the hold was topped up by hand 14 times"
NUMBER, CLIENT = "2026-0417-CONTROL-B", "Invented quarry of the northern hills, pit 3, stockpile 12"


async def long_values(bench):
    """A sample whose every text is long, a failed run that nobody decided on, a shaker."""
    call = bench.client.call
    sample = sample_methods.AddSampleParams(
        laboratory_number=NUMBER, client_reference=CLIENT, size="20/40", operator="KL-LONGNAME",
        tests=(SIEVING, DENSITY, "sphericity", CRUSH), remarks=LONG, mass_balance=True,
    )  # fmt: skip
    await call(sample_methods.ADD_SAMPLE, sample)
    planned = sample_methods.PlanStressParams(
        sample=1, stress_psi=14_000.0, replicates=3, operator="KL"
    )
    await call(sample_methods.PLAN_STRESS, planned)
    for label in ("14K-1 (cell B, again)", "14K-2", "14K-3"):
        added = specimen_methods.AddSpecimenParams(
            label=label, target_psi=14_000.0, operator="KL", sample=1
        )
        await call(specimen_methods.ADD_SPECIMEN, added)
    cut = specimen_methods.TickParams(specimen=2, what=Tick.CUT, operator="KL")
    await call(specimen_methods.TICK, cut)
    shaken = shaker_methods.StartShakingParams(specimen=2, planned_s=600, operator="KL")
    await call(shaker_methods.START_SHAKING, shaken)
    await call(run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="KL"))
    for _ in range(120):
        await bench.pump()
    await call(run_methods.END_RUN, run_methods.EndRunParams(reason=LONG, operator="KL"))
    await bench.daemon.press.written()


def letters(text):
    return "".join(text.split())


def drawn(widget):
    """What a widget shows, without spaces."""
    return letters("".join(
        segment.text for row in range(widget.size.height) for segment in widget.render_line(row)
    ))  # fmt: skip


def wanted(widget):
    """The texts of a widget that must be there whole."""
    if isinstance(widget, WordLine):
        return [one for one in (widget.left, widget.right) if one]
    if isinstance(widget, Rows):
        return [] if widget.chosen is None or not widget.rows else [widget.rows[widget.chosen]]
    return [line.text for line in widget.lines]


def cut(app):
    """The texts in sight that are not whole."""
    found = []
    for widget in app.screen.query("WordLine, TextBlock, Rows"):
        if not widget.display or any(not one.display for one in widget.ancestors_with_self):
            continue
        scrolls = any(one.id in {"all", "all-checks"} for one in widget.ancestors)
        inside = scrolls or app.screen.region.contains_region(widget.region)
        there = drawn(widget)
        found += [
            (widget.id, text) for text in wanted(widget) if letters(text) not in there or not inside
        ]
    return found


PLACES = {
    "worksheet": ("w",),
    "balance": ("f3",),
    "samples": ("w", "escape"),
    "results": ("r",),
    "a past run": ("r", "enter"),
    "instruments": ("i",),
    "timers": ("t",),
}


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_every_sentence_of_every_place_is_whole(on_bench, size):
    async def flow():
        async with on_bench(size=size) as (bench, app, pilot):
            await long_values(bench)
            app.initials = "KL"
            for place, keys in PLACES.items():
                for key in keys:
                    await pilot.press(key)
                    await pilot.pause(0.3)
                assert not isinstance(app.screen, PressScreen), place
                for down in range(4):
                    if place != "a past run" and down:
                        await pilot.press("down")
                        await pilot.pause(0.1)
                    assert (place, cut(app)) == (place, [])
                await pilot.press("f2")

    asyncio.run(flow())


ANSWERS = [
    "not kept: charge of specimen 12 is 39.900 g, +0.380 g off its target: give a reason",
    "corrected: what the sieve retained, 14K-1 (cell B, again) at 14 000 psi is 37.912 g",
    "sounds are off, those of warnings too: B turns them on",
]


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_every_answer_is_whole_beside_the_timers(on_bench, until, size):
    async def flow():
        async with on_bench(specimens=1, size=size) as (bench, app, pilot):
            shaken = shaker_methods.StartShakingParams(specimen=1, planned_s=600, operator="KL")
            await bench.client.call(shaker_methods.START_SHAKING, shaken)
            for place in ("f2", "f3", "w", "i"):
                await pilot.press(place)
                await pilot.pause(0.2)
                line = app.screen.query_one("#said", WordLine)
                for said in ANSWERS:
                    app.screen.say(said, Tone.CAUTION)
                    await until(pilot, lambda: letters(said) in drawn(line))  # noqa: B023

    asyncio.run(flow())


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_every_error_under_a_field_is_whole(on_bench, until, size):
    async def flow():
        async with on_bench(specimens=1, size=size) as (_, app, pilot):
            app.initials = "KL"
            await pilot.press("w")
            await until(pilot, lambda: app._workspace.part is not None)
            await pilot.press("f7")
            await until(pilot, lambda: asks(app, "A specimen of"))
            await pilot.press("down", "end", "ctrl+u", *"4000")
            wrong = app.screen.query_one("#wrong-target")
            await until(pilot, lambda: "has no unit" in str(wrong.content))
            await pilot.pause()
            text = str(wrong.content)
            room = wrong.content_size
            assert len(formats.wrapped(text, room.width)) <= room.height

    asyncio.run(flow())


@pytest.mark.parametrize(
    ("text", "width", "rows"),
    [
        ("  4K-1     waits    tick off: bed", 40, ["  4K-1     waits    tick off: bed"]),
        ("a  one two three four five six", 24, ["a  one two three four", "   five six"]),
        (
            "a        b        one two three four",
            20,
            ["a  b  one two three", "    four"],
        ),
        ("", 10, [""]),
        (" " * 30, 10, [" " * 30]),
        ("x" * 25, 10, ["x" * 10, "    xxxxxx", "    xxxxxx", "    xxx"]),
    ],
)
def test_a_long_row_is_wrapped_in_its_last_column_or_under_itself(text, width, rows):
    assert formats.wrapped_row(text, width) == rows


def test_a_block_of_text_needs_as_many_rows_as_its_lines():
    block = TextBlock()
    assert block.rows_of("load zero    ! FAILED today: a b c", 30) == [
        "load zero    ! FAILED today: a",
        "             b c",
    ]
