"""An exercise at the lever: the same ramp and hold with cues and without, as table and figure.

An exercise shows how evenly a person pumps the simulated press. It says nothing of a real press,
whose lever has weight.
"""

import datetime as dt
import statistics
from collections.abc import Callable, Iterable, Iterator
from enum import StrEnum
from html import escape
from typing import Self

from msgspec import Struct

from ramphold.core import Assessment, RunPlan
from ramphold.report._axes import WIDTH, Plot, Scale
from ramphold.report._drawing import Anchor, Dot, Drawing, Ink, Polyline, Shape, Words
from ramphold.report._svg import STYLE, svg

_HEIGHT, _PANEL = 190.0, WIDTH / 3
_TOP, _BOTTOM = 26.0, 160.0


class Lever(StrEnum):
    """What serves as the lever of the simulated press."""

    KEY = "key"
    WHEEL = "wheel"
    LOAD = "load"


#: How each is used, and what it can and cannot show of a hand.
LEVER_USE = {
    Lever.KEY: "hold Space to pull",
    Lever.WHEEL: "turn a mouse wheel upwards",
    Lever.LOAD: "press, harder to pull faster",
}
#: In a row of 80 columns, for the screen.
LEVER_BRIEF = {
    Lever.KEY: "key: shows when you pull, not how hard; runs on for 0.6 s after you let go",
    Lever.WHEEL: "wheel: shows when and how fast you pull, in small steps, without weight",
    Lever.LOAD: "load: shows when, how hard and how evenly you press; nothing moves",
}
LEVER_SHOWS = {
    Lever.KEY: "shows when you pull, not how hard. The pull has one pace and runs on for 0.6 s: a "
    "terminal tells that a key repeats, never that it was let go.",
    Lever.WHEEL: "shows when you pull and how fast, in small steps and without any weight.",
    Lever.LOAD: "shows when you press, how hard and how evenly. Nothing moves under the hand, and "
    "it never tires as on a long lever.",
}

#: A run that is slower than this is another task than a real one.
_REAL_TIME = 0.95
# Columns between two figures of the table, which fits a row of 80.
_APART = 2
_SIDES = {False: "gauge and clock", True: "with cues"}
#: Under a panel of the figure there is room for so much.
_BRIEF_SIDES = {False: "no cues", True: "cues"}


class PracticeRun(Struct, frozen=True, kw_only=True):
    """One run of an exercise.

    Attributes:
        cued: whether the screen showed the cues, or gauge and clock only.
        rms_pct: deviation from the ramp's line, root mean square, in % of the target; None if the
            run did not reach its target.
        overshoot_pct: how far the load rose over the target, in % of it.
        hold_off_s: difference between the hold and its planned time, in s.
        verdict: whether the run passed its assessment.
        failed: the checks that it did not pass.
        silent_s: for how long a load that served as the lever gave no reading, in s.
        speed: how fast the press went, as a multiple of real time; a busy computer is slower.
    """

    cued: bool
    rms_pct: float | None
    overshoot_pct: float
    hold_off_s: float
    verdict: str
    failed: tuple[str, ...] = ()
    silent_s: float = 0.0
    speed: float = 1.0

    @classmethod
    def judged(
        cls,
        plan: RunPlan,
        found: Assessment,
        *,
        cued: bool,
        silent_s: float = 0.0,
        speed: float = 1.0,
    ) -> Self:
        """A run by its assessment."""
        rms_psi = found.ramp_rms_psi
        return cls(
            cued=cued,
            rms_pct=None if rms_psi is None else 100 * rms_psi / plan.target_psi,
            overshoot_pct=found.overshoot_pct or 0.0,
            hold_off_s=found.hold_s - plan.hold_s,
            verdict=found.verdict,
            failed=tuple(one.name for one in found.checks if one.passed is False),
            silent_s=silent_s,
            speed=speed,
        )


class Practice(Struct, frozen=True, kw_only=True):
    """An exercise.

    Attributes:
        person: initials of who did it.
        utc_ns: when it began, UTC in ns.
        target_psi: at which target.
        lever: with what as the lever.
        seed: of press and order.
        planned: number of runs that it was to have.
        runs: those made, in their order, which was drawn by lot.
    """

    person: str
    utc_ns: int
    target_psi: float
    lever: Lever
    seed: int
    planned: int
    runs: tuple[PracticeRun, ...]


_FIGURES: tuple[tuple[str, Callable[[PracticeRun], float | None]], ...] = (
    ("rms off line, %", lambda run: run.rms_pct),
    ("overshoot, %", lambda run: run.overshoot_pct),
    ("hold off, s", lambda run: run.hold_off_s),
)


def practice_lines(practice: Practice) -> Iterator[str]:
    """The exercise as a table in plain text, with the mean of each kind."""
    names = "".join(f"{name:>{len(name) + _APART}}" for name, _ in _FIGURES)
    yield f"{'run':<6}{'screen':<16}{names}  verdict"
    for number, run in enumerate(practice.runs, 1):
        cells = _cells(value(run) for _, value in _FIGURES)
        yield f"{number:<6}{_SIDES[run.cued]:<16}{cells}  {run.verdict}"
    for cued, side in _SIDES.items():
        runs = [run for run in practice.runs if run.cued is cued]
        known = [[at for run in runs if (at := value(run)) is not None] for _, value in _FIGURES]
        cells = _cells(statistics.fmean(one) if one else None for one in known)
        passed = sum(run.verdict == "pass" for run in runs)
        yield f"{'mean':<6}{side:<16}{cells}  {passed} of {len(runs)} pass"
    yield f"lever: {practice.lever}; it {LEVER_SHOWS[practice.lever]}"
    for number, run in enumerate(practice.runs, 1):
        if run.failed:
            yield f"run {number} failed: {', '.join(run.failed)}"
        if run.silent_s:
            yield f"note: in run {number} the lever gave no reading for {run.silent_s:.1f} s"
        if run.speed < _REAL_TIME:
            yield (
                f"note: run {number} went at {100 * run.speed:.0f} % of real time, since this "
                "computer was too busy: it shows nothing of a hand"
            )
    if len(practice.runs) < practice.planned:
        yield f"note: left after {len(practice.runs)} of {practice.planned} runs"


def practice_html(practice: Practice) -> str:
    """The exercise as one page: who, when and how, the figure and the table."""
    date = dt.datetime.fromtimestamp(practice.utc_ns / 1e9, dt.UTC)
    title = f"Exercise at the lever: {practice.person}, {date:%Y-%m-%d}"
    how = (
        f"Simulated press {practice.seed}, target {practice.target_psi:g} psi, lever: "
        f"{practice.lever} ({LEVER_USE[practice.lever]}). The order of the runs was drawn by lot. "
        f"{date:%Y-%m-%d %H:%M} UTC."
    )
    limits = (
        "What it shows: whether this person keeps ramp and hold on this simulated press, with the "
        "cues and without. What it does not show: strength, and the feel of a real lever. A "
        "difference between the two kinds that is smaller than the scatter within each shows "
        "nothing."
    )
    table = escape("\n".join(practice_lines(practice)))
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}'
        f"</title><style>body{{font:11pt sans-serif;max-width:60em;margin:2em}}\n"
        f"pre{{white-space:pre-wrap}}\n{STYLE}</style>"
        f"</head><body>\n<h1>{escape(title)}</h1>\n<p>{escape(how)}</p>\n"
        f"{svg(practice_drawing(practice), 'each run by what was measured')}\n"
        f"<pre>{table}</pre>\n<p>{limits}</p>\n</body></html>\n"
    )


def practice_drawing(practice: Practice) -> Drawing:
    """One panel for each figure, with a dot for each run: without cues, then with."""
    shapes = [
        shape
        for at, (name, value) in enumerate(_FIGURES)
        for shape in _panel(practice, at * _PANEL, name, value)
    ]
    return Drawing(width=WIDTH, height=_HEIGHT, shapes=tuple(shapes))


def _panel(
    practice: Practice, left: float, name: str, value: Callable[[PracticeRun], float | None]
) -> Iterator[Shape]:
    found = [(run, at) for run in practice.runs if (at := value(run)) is not None]
    values = [0.0, *(at for _, at in found)]
    room = 0.1 * ((max(values) - min(values)) or 1.0)
    y = Scale(low=min(values) - room, high=max(values) + room, start=_BOTTOM, end=_TOP)
    plot = Plot(Scale(low=0, high=3, start=left + 42, end=left + _PANEL - 8), y)
    yield Words(left + 42, _TOP - 10, name)
    yield from plot.grid([], y.ticks(4))
    for tick in y.ticks(4):
        yield Words(left + 37, y(tick) + 2.5, f"{tick:g}", Anchor.END)
    yield plot.frame()
    for cued, side in _BRIEF_SIDES.items():
        at = 0.75 + 1.5 * cued
        yield Words(plot.x(at), _BOTTOM + 14, side, Anchor.MIDDLE)
        here = [one for run, one in found if run.cued is cued]
        # Dots of one kind stand side by side, in the order of the runs.
        for nth, one in enumerate(here):
            yield Dot(Ink.COUNTS, plot.x(at + 0.14 * (nth - (len(here) - 1) / 2)), y(one))
        if here:
            mean = y(statistics.fmean(here))
            yield Polyline(Ink.MEAN, ((plot.x(at - 0.4), mean), (plot.x(at + 0.4), mean)))


def _cells(values: Iterable[float | None]) -> str:
    return "".join(
        f"{'-' if value is None else f'{value:.2f}':>{len(name) + _APART}}"
        for (name, _), value in zip(_FIGURES, values, strict=True)
    )
