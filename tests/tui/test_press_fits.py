"""At every size each text of the press is whole, with its longest figures."""

import asyncio
from itertools import combinations

import pytest
from textual.widget import Widget

from ramphold_tui.theme import SIXTEEN
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.glyphs import UNICODE
from ramphold_tui.view.press_pane import press_view
from ramphold_tui.view.situation import (
    Ask,
    LoadLevel,
    PressSituation,
    Recording,
    RunStage,
)
from ramphold_tui.view.situation_table import SITUATIONS
from ramphold_tui.widgets import BigText, MeterBar, WordLine
from ramphold_tui.widgets.drawn import Drawn
from support.press_bench import PLAN, USUAL, bench_in, example

SIZES = [(60, 20), (80, 24), (100, 30), (120, 40), (200, 60)]


SHOWN = {row.name: example(row) for row in SITUATIONS if example(row)}


def test_every_row_but_that_of_the_link_has_an_example():
    assert {row.name for row in SITUATIONS} - set(SHOWN) == {"link lost", "link opening"}


def text_of(widget):
    return [widget.render_line(y).text for y in range(widget.size.height)]


def words_of(widget):
    bars = str.maketrans(dict.fromkeys((UNICODE.full, UNICODE.lower), " "))
    return " ".join(" ".join(text_of(widget)).translate(bars).split())


def fault(screen, view):
    """What is cut, hidden or in each other's way on a screen; nothing if all is whole."""
    # The bars of the limits give way to words, where both have no room.
    visible = [
        one for one in screen.query(Drawn) if one.region.area and not isinstance(one, MeterBar)
    ]
    for one in visible:
        if not screen.region.contains_region(one.region):
            return f"{one.id} is outside: {one.region}"
    for one, other in combinations(visible, 2):
        if one.region.overlaps(other.region):
            return f"{one.id} and {other.id} overlap"
    said = {
        "cue-detail": view.banner.detail,
        "next": f"next: {view.banner.next}" if view.banner.next else "",
    }
    for name, text in said.items():
        found = words_of(screen.query_one(f"#{name}"))
        if found != text:
            return f"{name}: {found!r} is not {text!r}"
    beside = words_of(screen.query_one("#beside"))
    if view.beside and not beside.startswith(view.beside[0].text):
        return f"beside: {beside!r} is not {view.beside[0].text!r}"
    first = "load" if view.lbf_first else "stress"
    for name in ("cue", first):
        large = screen.query_one(f"#{name}", BigText)
        rows = large.rows()
        given_way = name != "cue" and view.waiting and not large.region.area
        if not given_way and not any("\N{FULL BLOCK}" in row for row in rows):
            return f"{name} is not in large letters: {rows}"
    return ""


def cut_letter(screen, view):
    """The rows of a dark word that reaches an end of its bar, where its letters are not seen."""
    rows = text_of(screen.query_one("#cue"))
    dark = view.banner.tone is Tone.ALARM
    return rows if dark and any(row != f" {row[1:-1]} " for row in rows) else []


@pytest.mark.parametrize("plan", [PLAN, USUAL], ids=["longest", "usual"])
@pytest.mark.parametrize("size", SIZES, ids=str)
def test_every_situation_is_whole(bench, shown, until, size, plan):
    faults = {}

    async def flow():
        async with bench.server, shown(bench.path, size) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            for name, facts in SHOWN.items():
                composed = bench_in(facts, plan)
                bench.told, bench.told_record = composed.live, composed.record
                bench.publish()
                detail = app.screen.query_one("#cue-detail")
                await until(pilot, lambda: detail.banner and detail.banner.name == name)  # noqa: B023
                await pilot.pause()
                # As of the moment that was painted: ages go on.
                view = press_view(app.bench, app._paint_times._painted_ns)
                if found := fault(app.screen, view) or cut_letter(app.screen, view):
                    faults[name] = found

    asyncio.run(flow())
    assert faults == {}


def test_what_comes_next_has_a_row_from_the_start_in_a_terminal_of_sixteen_colours(
    bench, shown, until
):
    # Fault: a height that was asked for while the styles changed was never given.
    bench.told = bench_in(PressSituation(), USUAL).live

    async def flow():
        async with bench.server, shown(bench.path, (60, 20)) as (app, pilot):
            app.register_theme(SIXTEEN)
            app.theme = SIXTEEN.name
            await until(pilot, lambda: app.bench.live is not None)
            following, said = (app.screen.query_one(f"#{name}") for name in ("next", "said"))
            await until(
                pilot,
                lambda: (
                    words_of(following) == following.lines[0].text.strip() and said.size.height == 1
                ),
            )

    asyncio.run(flow())


@pytest.mark.parametrize("size", [(59, 20), (60, 19), (20, 5)], ids=str)
def test_a_smaller_screen_says_which_size_it_needs(bench, shown, until, size):
    async def flow():
        async with bench.server, shown(bench.path, size) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            await pilot.pause()
            seen = [one for one in app.screen.query(Widget) if one.region.area and one.id]
            assert [one.id for one in seen] == ["too-small"]
            line = app.screen.query_one("#too-small", WordLine)
            assert line.render_line(0).text.strip().startswith("60x20 needed"[: size[0] - 2])

    asyncio.run(flow())


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=str)
def test_two_numbers_are_further_apart_than_the_groups_of_one(bench, shown, until, size):
    # Fault: at 80x24 `12 548 3 994` read as one number.
    async def flow():
        async with bench.server, shown(bench.path, size) as (app, pilot):
            bench.feed_until(60)
            bench.publish()
            await until(pilot, lambda: app.screen.query_one("#load", BigText).text == "6 168")
            await pilot.pause()
            large, small = (
                app.screen.query_one(f"#{name}", BigText) for name in ("stress", "load")
            )
            # Psi is first, and drawn larger.
            assert large.region.x < small.region.x
            assert len(large.rows()[0]) > len(small.rows()[0])
            between = small.region.x - (large.region.x + len(large.rows()[0]))
            assert between > 2 * max(gaps(large.rows()))
            rule = app.screen.query_one("#digits-rule")
            assert large.region.right <= rule.region.x < small.region.x

    asyncio.run(flow())


def gaps(rows):
    """Widths of the blank columns between the digits of a number."""
    columns = "".join("." if set(cells) == {" "} else "#" for cells in zip(*rows, strict=True))
    return [len(part) for part in columns.strip(".").split("#") if part]


def test_in_a_hold_with_nothing_to_do_the_seconds_are_larger_than_the_load(bench, shown, until):
    facts = PressSituation(
        run=RunStage.HOLD, load=LoadLevel.UNDER_WAY, recording=Recording.YES, ask=Ask.WAIT
    )

    async def flow():
        for size in SIZES:
            async with bench.server, shown(bench.path, size) as (app, pilot):
                bench.told = bench_in(facts, USUAL).live
                bench.publish()
                await until(pilot, lambda: app.screen.query_one("#cue", BigText).text == "599 s")
                await pilot.pause()
                word = app.screen.query_one("#cue", BigText).rows()
                large = [one for one in app.screen.query("#load, #stress") if one.region.area]
                heights = [len(one.rows()) for one in large]
                assert not [high for high in heights if 2 * high > len(word)], size

    asyncio.run(flow())
