"""Figures over months whose points lead to what they stand for. Pure."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from html import escape

from msgspec import Struct

from ramphold.clock import NS_PER_S
from ramphold.method.control_chart import Chart, JudgedDay
from ramphold.report.figures import (
    WIDTH,
    Anchor,
    Dot,
    Drawing,
    Ink,
    Plot,
    Polyline,
    Scale,
    Shape,
    Words,
    fitting,
    svg,
)

_LEFT, _RIGHT, _TOP, _BOTTOM, _HEIGHT = 44.0, WIDTH - 58.0, 8.0, 120.0, 146.0
_DAY_S = 86_400
_RADIUS, _HIT = 2.6, 7.0
# Not so many months are named that they touch.
_MOST_MONTHS = 12


class Mark(Struct, frozen=True, kw_only=True):
    """A point of a figure.

    Attributes:
        utc_ns, value: where it is.
        path: the page that it leads to.
        says: what it is, in words.
        odd: whether it is one to look at.
    """

    utc_ns: int
    value: float
    path: str
    says: str
    odd: bool = False

    @property
    def t_s(self) -> float:
        """Its time in s."""
        return self.utc_ns / NS_PER_S


def control_figure(
    marks: Sequence[Mark], base: Chart | None, judged: Sequence[JudgedDay], name: str
) -> str:
    """A control chart: a day's mean each, the base period's centre and limits, the moving average.

    Args:
        marks: the days in order.
        base: the base period; None while there is less than two days.
        judged: the days after it.
        name: what the figure is, for those who cannot see it.
    """
    plot = _plot(marks, [base.centre] if base else [])
    shapes: list[Shape] = []
    if base is not None:
        shapes.append(plot.level(Ink.MEAN, base.centre))
        shapes.append(_aside(plot, base.centre, "base"))
        reach = base.day_reach
        for limit in (base.centre - reach, base.centre + reach) if base.complete else ():
            if plot.y.low < limit < plot.y.high:
                shapes += [plot.level(Ink.LIMIT, limit), _aside(plot, limit, "day limit")]
    for row in ("lower", "upper"):
        points = [(marks[one.index].t_s, getattr(one, row)) for one in judged]
        shapes.append(_line(plot, Ink.PLAN, points))
    shapes.append(_line(plot, Ink.CURVE, [(marks[one.index].t_s, one.average) for one in judged]))
    return _linked(plot, shapes, marks, "mean fines, %", name)


def fines_figure(series: Sequence[tuple[str, Sequence[Mark]]], limit_pct: float, name: str) -> str:
    """Mean fines of one source over time, a line for each stress, with the limit."""
    every = [mark for _, marks in series for mark in marks]
    plot = _plot(every, [0.0, limit_pct])
    shapes: list[Shape] = [plot.level(Ink.LIMIT, limit_pct)]
    for words, marks in series:
        shapes.append(_line(plot, Ink.TRACE, [(one.t_s, one.value) for one in marks]))
        shapes.append(_aside(plot, marks[-1].value, words))
    return _linked(plot, shapes, every, "mean fines, %", name)


def class_figure(marks: Sequence[Mark], name: str) -> str:
    """The crush class of one source over time."""
    plot = _plot(marks, [max(min(one.value for one in marks) - 2, 0), marks[-1].value + 2])
    shapes: list[Shape] = [_line(plot, Ink.TRACE, [(one.t_s, one.value) for one in marks])]
    return _linked(plot, shapes, marks, "crush class, K", name)


def _plot(marks: Sequence[Mark], more: Sequence[float]) -> Plot:
    times = [one.t_s for one in marks]
    span_s = max(max(times) - min(times), 7 * _DAY_S)
    across = Scale(
        low=min(times) - 0.03 * span_s, high=min(times) + 1.03 * span_s, start=_LEFT, end=_RIGHT
    )
    return Plot(across, fitting([*(one.value for one in marks), *more], _BOTTOM, _TOP))


def _line(plot: Plot, ink: Ink, points: Sequence[tuple[float, float]]) -> Polyline:
    return Polyline(ink, tuple(plot.at(t_s, plot.inside(value)) for t_s, value in points))


def _aside(plot: Plot, value: float, words: str) -> Words:
    return Words(_RIGHT + 4, plot.y(plot.inside(value)) + 2.5, words)


def _months(plot: Plot) -> Iterator[tuple[float, str]]:
    """Time and name of each first of a month."""
    first = datetime.fromtimestamp(plot.x.low, UTC)
    month = first.year * 12 + first.month
    found = []
    while (t_s := datetime(month // 12, month % 12 + 1, 1, tzinfo=UTC).timestamp()) < plot.x.high:
        found.append((t_s, f"{month // 12}-{month % 12 + 1:02}"))
        month += 1
    yield from found[:: -(-len(found) // _MOST_MONTHS) or 1]


def _linked(
    plot: Plot, shapes: Sequence[Shape], marks: Sequence[Mark], title: str, name: str
) -> str:
    ticks = plot.y.ticks(5)
    months = list(_months(plot))
    axis = [Words(plot.x(t_s), _BOTTOM + 12, text, Anchor.MIDDLE) for t_s, text in months]
    drawing = Drawing(
        width=WIDTH,
        height=_HEIGHT,
        shapes=(
            *plot.grid([t_s for t_s, _ in months], ticks),
            *shapes,
            *(
                Dot(Ink.LEFT_OUT if one.odd else Ink.COUNTS, *plot.at(one.t_s, one.value), _RADIUS)
                for one in marks
            ),
            plot.frame(),
            *plot.y_axis(title, ticks, "g"),
            *axis,
        ),
    )
    links = "\n".join(_link(plot, one) for one in marks)
    drawn = svg(drawing, name).replace('role="img"', 'role="group"', 1)
    return drawn.removesuffix("</svg>") + links + "\n</svg>"


def _link(plot: Plot, one: Mark) -> str:
    x, y = plot.at(one.t_s, one.value)
    says, kind = escape(one.says), "hit odd" if one.odd else "hit"
    return (
        f'<a href="{escape(one.path)}" aria-label="{says}"><title>{says}</title>'
        f'<circle class="{kind}" cx="{x:.1f}" cy="{y:.1f}" r="{_HIT:g}"/></a>'
    )
