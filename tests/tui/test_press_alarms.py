"""Warnings take the cue's place, ring, and stay until somebody says that they were seen."""

import asyncio
from dataclasses import replace

import msgspec
import pytest
from textual.app import App

from ramphold.control import run_methods
from ramphold.core import Acknowledge, StandingWarning, WarningKind, WarningRaised
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.glyphs import big
from ramphold_tui.view.press_alarms import alarm, quiet_warnings, unseen
from ramphold_tui.view.press_meters import meters
from ramphold_tui.widgets import BigText, CueLine, PressStrip, WordLine

LATCHED = (
    WarningKind.NO_ANSWER,
    WarningKind.JUMPED,
    WarningKind.OVER_CEILING,
    WarningKind.NEAR_RATING,
    WarningKind.OVER_RATING,
)


@pytest.fixture
def warned(bench):
    """What the screen knows in a hold with these warnings; before any run if `idle`."""
    bench.feed_until(150)

    def warned(*warnings, idle=()):
        live = bench.live()
        snapshot = None if idle else replace(live.snapshot, warnings=warnings)
        rating_lbf = live.snapshot.rating_lbf
        return BenchState(
            live=msgspec.structs.replace(
                live, snapshot=snapshot, idle_warnings=idle, rating_lbf=rating_lbf
            )
        )

    return warned


def standing(kind, load_lbf=12_860.0, **more):
    raised = WarningRaised(t_ns=0, kind=kind, name="cell", load_lbf=load_lbf, limit_lbf=12_800.0)
    return StandingWarning(raised=raised, **more)


def test_load_and_margin_stay_beside_the_word(warned):
    shown = alarm(warned(standing(WarningKind.OVER_CEILING)))
    assert (shown.word, shown.tone) == ("OVER CEILING", Tone.ALARM)
    assert shown.detail == "12 860 lbf, 60 lbf over the ceiling (F4: seen)"


@pytest.mark.parametrize(
    ("kind", "load_lbf", "words"),
    [
        # 15 000 psi on pi in2 are 47 124 lbf [recomputed in the trade's table].
        (WarningKind.NEAR_RATING, 43_000.0, "43 000 lbf, 4 124 lbf under the rating of the cell"),
        (WarningKind.OVER_RATING, 47_200.0, "47 200 lbf, 76 lbf over the rating of the cell"),
    ],
)
def test_the_weakest_part_is_named(warned, kind, load_lbf, words):
    shown = alarm(warned(standing(kind, load_lbf)))
    assert shown.detail == f"{words} (F4: seen)"


def test_one_whose_cause_is_gone_says_how_far_it_went(warned):
    gone = standing(WarningKind.OVER_CEILING, persists=False)
    assert alarm(warned(gone)).detail.startswith("was at 12 860 lbf")


def test_the_gravest_unseen_warning_is_the_word(warned):
    warnings = (
        standing(WarningKind.OVER_RATING, acknowledged=True),
        standing(WarningKind.NEAR_RATING),
        standing(WarningKind.OVER_CEILING),
        standing(WarningKind.UNSTEADY),
    )
    known = warned(*warnings)
    assert alarm(known).word == "NEAR RATING"
    assert [one.kind for one in unseen(known)] == ["near rating", "over ceiling"]
    assert quiet_warnings(known) == ("over rating", "unsteady")


def test_what_was_seen_or_is_never_latched_leaves_the_cue_in_its_place(warned):
    seen = standing(WarningKind.OVER_CEILING, acknowledged=True)
    quiet = [standing(kind) for kind in set(WarningKind) - set(LATCHED)]
    assert alarm(warned(seen, *quiet)) is None
    assert alarm(warned()) is None
    assert alarm(BenchState()) is None


def test_a_press_that_no_run_follows_is_warned_of_by_its_rating_alone(warned):
    known = warned(idle=(standing(WarningKind.OVER_RATING, 47_200.0),))
    assert alarm(known).word == "OVER RATING"
    assert alarm(known).detail == "47 200 lbf, 76 lbf over the rating of the cell (F4: seen)"
    (meter,) = meters(known, 47_200.0)
    assert (meter.label, meter.tone) == ("rating", Tone.ALARM)


@pytest.mark.parametrize("kind", LATCHED)
def test_every_warning_fits_a_narrow_screen(warned, kind):
    shown = alarm(warned(standing(kind, 123_456.0, persists=False)))
    assert len(big(shown.word, "#")[0]) <= 78
    assert len(shown.detail) <= 78


class Overloaded:
    """A bench whose run is driven over its ceiling, and which takes that this was seen."""

    def __init__(self, bench):
        self.bench = bench
        self.seen_by = []
        bench.handlers.on(run_methods.ACKNOWLEDGE, self._acknowledge)

    def go_over(self):
        bench = self.bench
        bench.feed_until(150)
        for step in range(1, 6):
            t_ns = bench.newest.t_ns + 100_000_000
            bench.newest = msgspec.structs.replace(
                bench.newest, t_ns=t_ns, force_lbf=12_850.0 + step
            )
            bench.tracker.feed(bench.newest)
        bench.publish()

    async def _acknowledge(self, wanted):
        self.seen_by.append(wanted.operator)
        self.bench.tracker.command(Acknowledge(), self.bench.newest.t_ns)
        self.bench.publish()
        return self.bench.live()


def test_an_overload_rings_takes_the_word_and_leaves_it_once_it_was_seen(
    bench, shown, until, monkeypatch
):
    rung = []
    monkeypatch.setattr(App, "bell", lambda _: rung.append(True))
    overloaded = Overloaded(bench)

    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            assert not rung
            overloaded.go_over()
            cue = app.screen.query_one("#cue", BigText)
            await until(pilot, lambda: cue.text == "OVER CEILING")
            assert cue.has_class("-alarm")
            assert len(rung) == 1
            detail = app.screen.query_one("#cue-detail", CueLine).banner.detail
            assert detail == "12 855 lbf, 55 lbf over the ceiling (F4: seen)"
            assert app.screen.query_one("#load", BigText).text == "12 854"  # median of three
            bench.publish()
            await pilot.pause()
            assert len(rung) == 1
            await pilot.press("f4")
            await until(pilot, lambda: cue.text != "OVER CEILING")
            status = app.screen.query_one("#status", WordLine)
            await until(pilot, lambda: "! over ceiling" in status.right)

    asyncio.run(flow())
    # Nobody had said who works here, so it is the run's operator who saw it.
    assert overloaded.seen_by == ["KL"]


@pytest.mark.parametrize("place", [("f3",), ("f1",), ("f8",)])
def test_an_overload_is_seen_in_every_place_and_acknowledged_there(bench, shown, until, place):
    overloaded = Overloaded(bench)

    async def flow():
        async with bench.server, shown(bench.path) as (app, pilot):
            await until(pilot, lambda: app.bench.live is not None)
            await pilot.press(*place)
            overloaded.go_over()
            await until(pilot, lambda: bool(app.screen.query(PressStrip)))
            strip = app.screen.query_one(PressStrip)
            await until(pilot, lambda: strip.left == "press, hold: OVER CEILING")
            assert strip.has_class("-alarm")
            assert strip.right == "12 855 lbf, 55 lbf over the ceiling (F4: seen)"
            await pilot.press("f4")
            await until(pilot, lambda: not strip.has_class("-alarm"))

    asyncio.run(flow())
    assert overloaded.seen_by == ["KL"]
