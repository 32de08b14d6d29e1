"""Many runs side by side, small: each with its line, band and ceiling, on one page for fifteen."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ramphold.report._axes import WIDTH, Plot, Scale
from ramphold.report._drawing import Anchor, Drawing, Ink, Polyline, Shape, Words
from ramphold.report._format import number, psi
from ramphold.report._run_figure import RunPicture

_COLUMNS, _ROWS = 3, 5
_WIDE, _HIGH = WIDTH / _COLUMNS, 114.0
_LEFT, _RIGHT, _ABOVE, _BELOW = 30.0, 8.0, 13.0, 15.0
_POINTS = 240

#: How many runs fit on a page.
PER_PAGE = _COLUMNS * _ROWS


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallRun:
    """A run to be drawn small, and the words above it."""

    title: str
    picture: RunPicture


def small_drawing(runs: Sequence[SmallRun]) -> Drawing:
    """Up to `PER_PAGE` runs in rows of three."""
    rows = -(-len(runs) // _COLUMNS)
    shapes = [
        shape
        for at, one in enumerate(runs)
        for shape in _cell(one, at % _COLUMNS * _WIDE, at // _COLUMNS * _HIGH)
    ]
    return Drawing(width=WIDTH, height=rows * _HIGH, shapes=tuple(shapes))


def _cell(one: SmallRun, left: float, top: float) -> Iterator[Shape]:
    picture, bottom = one.picture, top + _HIGH - _BELOW
    plot = Plot(
        Scale(
            low=picture.begin_s, high=picture.end_s, start=left + _LEFT, end=left + _WIDE - _RIGHT
        ),
        Scale(low=0, high=picture.top_psi, start=bottom, end=top + _ABOVE),
    )
    yield Words(left + _LEFT, top + _ABOVE - 4, one.title)
    yield from picture.load_shapes(plot, _POINTS, 1.4)
    yield plot.frame()
    for value in (0.0, picture.aim.run.target_psi):
        yield Words(plot.x.start - 3, plot.y(value) + 2.5, psi(value), Anchor.END)
    ticks = plot.x.ticks(4)
    for value in ticks:
        at = plot.x(value)
        yield Polyline(Ink.FRAME, ((at, bottom), (at, bottom + 2)))
        unit = " s" if value == ticks[-1] else ""
        yield Words(at, bottom + 10, f"{number(value, '.0f')}{unit}", Anchor.MIDDLE)
