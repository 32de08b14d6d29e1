"""The figure of a sieve analysis: the share passing each opening, and that on each sieve."""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from ramphold.method.sieves import PAN, Size, opening_mm
from ramphold.method.sieving import SieveAnalysis
from ramphold.report._axes import WIDTH, Plot, Scale
from ramphold.report._drawing import Anchor, Dot, Drawing, Ink, Polyline, Shape, Words

_HEIGHT = 152.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, WIDTH - 12, 20.0, 122.0
_FIFTHS = (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)


def passing_pct(masses_g: Mapping[int, float]) -> dict[int, float]:
    """The share that passes each sieve, in % of the recovered sum, coarsest first."""
    total = sum(masses_g.values())
    held, passing = 0.0, {}
    for sieve in sorted(masses_g, key=lambda one: -opening_mm(one)):
        held += masses_g[sieve]
        passing[sieve] = 100 * (total - held) / total if total else 0.0
    return passing


def sieve_drawing(masses_g: Mapping[int, float], size: Size, analysis: SieveAnalysis) -> Drawing:
    """Draw the figure."""
    passing = {sieve: pct for sieve, pct in passing_pct(masses_g).items() if sieve != PAN}
    openings = [opening_mm(sieve) for sieve in passing]
    x = Scale(
        low=min(openings) / 1.12, high=max(openings) * 1.12, start=_LEFT, end=_RIGHT, log=True
    )
    plot = Plot(x, Scale(low=0, high=104, start=_BOTTOM, end=_TOP))
    shapes = (
        *_in_size(plot, size),
        *plot.grid(openings, _FIFTHS),
        *_held(plot, masses_g),
        *_curve(plot, passing),
        *_median(plot, analysis.median_mm),
        plot.frame(),
        *plot.x_axis("opening, mm", openings, ".3f"),
        *(
            Words(plot.x(opening_mm(sieve)), _TOP - 4, f"No. {sieve}", Anchor.MIDDLE)
            for sieve in passing
        ),
        *plot.y_axis("% of the recovered sum", _FIFTHS, ".0f"),
    )
    return Drawing(width=WIDTH, height=_HEIGHT, shapes=shapes)


def _in_size(plot: Plot, size: Size) -> Iterator[Shape]:
    low, high = opening_mm(size.fine), opening_mm(size.coarse)
    if plot.x.low < low and high < plot.x.high:
        yield plot.box(Ink.BAND, (low, high), (0.0, plot.y.high))


def _held(plot: Plot, masses_g: Mapping[int, float]) -> Iterator[Shape]:
    """The share on each sieve, as a step from its own opening to the next coarser one."""
    total = sum(masses_g.values()) or 1.0
    sieves = sorted((one for one in masses_g if one != PAN), key=lambda one: -opening_mm(one))
    corners = []
    for coarser, sieve in pairwise(sieves):
        share = 100 * masses_g[sieve] / total
        corners += [(opening_mm(coarser), share), (opening_mm(sieve), share)]
    yield Polyline(Ink.PLAN, tuple(plot.at(*corner) for corner in corners))


def _curve(plot: Plot, passing: Mapping[int, float]) -> Iterator[Shape]:
    points = tuple(plot.at(opening_mm(sieve), pct) for sieve, pct in passing.items())
    yield Polyline(Ink.CURVE, points)
    for x, y in points:
        yield Dot(Ink.COUNTS, x, y)


def _median(plot: Plot, median_mm: float | None) -> Iterator[Shape]:
    if median_mm is None:
        return
    x, y = plot.at(median_mm, 50.0)
    yield Polyline(Ink.LIMIT, ((plot.x.start, y), (x, y), (x, plot.y.start)))
    yield Words(x - 4, y - 5, f"median {median_mm:.3f} mm", Anchor.END, colour="#9d2f24")
