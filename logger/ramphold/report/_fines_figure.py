"""The figure of fines over stress: specimens, means, the fitted curve and the limit."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ramphold.method.fines_curve import Crossing, FinesCurve
from ramphold.method.uncertainty import Budget
from ramphold.report._axes import WIDTH, Plot, fitting
from ramphold.report._drawing import Dot, Drawing, Ink, Polygon, Polyline, Shape, Words
from ramphold.sample import SpecimenRecord

_HEIGHT = 164.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, WIDTH - 12, 10.0, 134.0
_STEPS = 60
_SIDE = 3.5  # half the distance between the dots of one stress, in points
_MEAN_BESIDE = 17.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FinesPicture:
    """The content: specimens with fines, the mean at each stress in psi, curve and limit in %."""

    specimens: Sequence[SpecimenRecord]
    means: Sequence[tuple[float, Budget]]
    curve: FinesCurve | None
    crossing: Crossing | None
    limit_pct: float | None


def fines_drawing(picture: FinesPicture) -> Drawing | None:
    """Draw the figure; None without any fines."""
    fines = [one.fines_pct for one in picture.specimens if one.fines_pct is not None]
    if not fines:
        return None
    stresses = [one.added.target_psi for one in picture.specimens if one.fines_pct is not None]
    x = fitting(stresses, _LEFT, _RIGHT)
    highest = max(
        *fines, picture.limit_pct or 0.0, *(b.value + b.expanded for _, b in picture.means)
    )
    y = fitting([highest], _BOTTOM, _TOP, zero=True)
    plot = Plot(x, y)
    shapes = (
        *_curve_band(plot, picture.curve),
        *plot.grid(plot.x.ticks(8), plot.y.ticks()),
        *_limit(plot, picture),
        *_curve(plot, picture.curve),
        *_means(plot, picture.means),
        *_dots(plot, picture.specimens),
        plot.frame(),
        *plot.x_axis("stress, psi", plot.x.ticks(8), ".0f"),
        *plot.y_axis("fines, % of the charge", plot.y.ticks(), "g"),
    )
    return Drawing(width=WIDTH, height=_HEIGHT, shapes=shapes)


def _along(plot: Plot, curve: FinesCurve) -> list[float]:
    low = max(min(curve.stresses_psi), plot.x.low)
    high = min(max(curve.stresses_psi), plot.x.high)
    return [low + (high - low) * step / _STEPS for step in range(_STEPS + 1)]


def _curve_band(plot: Plot, curve: FinesCurve | None) -> Iterator[Shape]:
    if curve is None:
        return
    bands = [(psi, curve.band_pct(psi)) for psi in _along(plot, curve)]
    lower = [plot.at(psi, plot.inside(low)) for psi, (low, _) in bands]
    upper = [plot.at(psi, plot.inside(high)) for psi, (_, high) in bands]
    yield Polygon(Ink.BAND, (*lower, *reversed(upper)))


def _curve(plot: Plot, curve: FinesCurve | None) -> Iterator[Shape]:
    if curve is not None:
        points = ((psi, curve.fines_pct(psi)) for psi in _along(plot, curve))
        yield Polyline(Ink.CURVE, tuple(plot.at(psi, plot.inside(pct)) for psi, pct in points))


def _limit(plot: Plot, picture: FinesPicture) -> Iterator[Shape]:
    if picture.limit_pct is None:
        return
    yield plot.level(Ink.LIMIT, picture.limit_pct)
    at_y = plot.y(picture.limit_pct)
    words = f"{picture.limit_pct:g} % limit"
    yield Words(plot.x.start + 4, at_y - 3.5, words, colour="#9d2f24")
    crossing = picture.crossing
    if crossing is None or not plot.x.low <= crossing.stress_psi <= plot.x.high:
        return
    at = plot.x(crossing.stress_psi)
    if crossing.low_psi is not None and crossing.high_psi is not None:
        ends = [
            plot.x(min(max(end, plot.x.low), plot.x.high))
            for end in (crossing.low_psi, crossing.high_psi)
        ]
        yield Polyline(Ink.MEAN, ((ends[0], at_y), (ends[1], at_y)))
        for end in ends:
            yield Polyline(Ink.MEAN, ((end, at_y - 4), (end, at_y + 4)))
    yield Polyline(Ink.LIMIT, ((at, at_y), (at, plot.y.start)))
    words = f"{crossing.stress_psi:.0f} psi by the curve"
    yield Words(at + 4, plot.y.start - 5, words, colour="#9d2f24")


def _means(plot: Plot, means: Sequence[tuple[float, Budget]]) -> Iterator[Shape]:
    for stress_psi, budget in means:
        x = plot.x(stress_psi) + _MEAN_BESIDE
        yield Polyline(Ink.MEAN, ((x - 5, plot.y(budget.value)), (x + 5, plot.y(budget.value))))
        if not budget.expanded:
            continue
        low = plot.y(plot.inside(budget.value - budget.expanded))
        high = plot.y(plot.inside(budget.value + budget.expanded))
        yield Polyline(Ink.MEAN, ((x, low), (x, high)))
        for end in (low, high):
            yield Polyline(Ink.MEAN, ((x - 3, end), (x + 3, end)))


def _dots(plot: Plot, specimens: Sequence[SpecimenRecord]) -> Iterator[Shape]:
    """Specimens of one stress side by side, so that equal fines stay distinct."""
    by_stress: dict[float, list[SpecimenRecord]] = {}
    for one in specimens:
        if one.fines_pct is not None:
            by_stress.setdefault(one.added.target_psi, []).append(one)
    for stress_psi, group in by_stress.items():
        for at, one in enumerate(group):
            if one.fines_pct is None or not math.isfinite(one.fines_pct):
                continue
            x = plot.x(stress_psi) + _SIDE * 2 * (at - (len(group) - 1) / 2)
            y = plot.y(one.fines_pct)
            yield Dot(Ink.COUNTS if one.counts else Ink.LEFT_OUT, x, y)
            if not one.counts:
                yield Polyline(Ink.LEFT_OUT, ((x - 3.2, y + 3.2), (x + 3.2, y - 3.2)))
