"""Curves as characters: braille dots if the terminal has them, plain marks if not."""

from collections.abc import Iterable, Iterator
from enum import IntEnum
from itertools import groupby, pairwise
from math import floor

from msgspec import Struct


class CurveKind(IntEnum):
    """What a mark belongs to; where two meet, the greater one is shown."""

    NOTHING = 0
    LIMIT = 1
    LINE = 2
    LOAD = 3


class PlotArea(Struct, frozen=True, kw_only=True):
    """What is shown: times in s, stresses in psi."""

    start_s: float
    end_s: float
    low_psi: float
    high_psi: float


class Curve(Struct, frozen=True, kw_only=True):
    """Points of (time in s, least psi, greatest psi), joined in their order."""

    kind: CurveKind
    points: tuple[tuple[float, float, float], ...]

    @classmethod
    def through(cls, kind: CurveKind, *corners: tuple[float, float]) -> "Curve":
        """Straight lines between corners."""
        return cls(kind=kind, points=tuple((t_s, psi, psi) for t_s, psi in corners))


# Dashes tell the kinds apart without colour: of every so many columns, so many are drawn.
_DASHES = {CurveKind.LIMIT: (2, 6), CurveKind.LINE: (1, 3), CurveKind.LOAD: (1, 1)}
_PLAIN = {CurveKind.NOTHING: " ", CurveKind.LIMIT: "-", CurveKind.LINE: ".", CurveKind.LOAD: "*"}
# Bit of each dot of a braille cell, by column and row from the top.
_BITS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
_BLANK = 0x2800


def draw(
    curves: Iterable[Curve], area: PlotArea, width: int, height: int, *, braille: bool
) -> list[list[tuple[str, CurveKind]]]:
    """Rows of pieces (text, what it belongs to), each row `width` characters long."""
    across, down = (2, 4) if braille else (1, 1)
    cells: dict[tuple[int, int], tuple[CurveKind, int]] = {}
    for curve in sorted(curves, key=lambda curve: curve.kind):
        for x, y in _dots(curve, area, width * across, height * down):
            place = (x // across, y // down)
            kind, bits = cells.get(place, (CurveKind.NOTHING, 0))
            bit = _BITS[x % 2][y % 4] if braille else 1
            cells[place] = (max(kind, curve.kind), bits | bit)
    return [
        [
            ("".join(text for text, _ in run), kind)
            for kind, run in groupby(
                (
                    _character(*cells.get((x, y), (CurveKind.NOTHING, 0)), braille)
                    for x in range(width)
                ),
                key=lambda cell: cell[1],
            )
        ]
        for y in range(height)
    ]


def row_of(psi: float, area: PlotArea, height: int, *, braille: bool) -> int:
    """Row, counted from the top, in which `draw` puts a stress."""
    down = 4 if braille else 1
    return height - 1 - _row(psi, area, height * down) // down


def _character(kind: CurveKind, bits: int, braille: bool) -> tuple[str, CurveKind]:  # noqa: FBT001
    if braille and bits:
        return chr(_BLANK + bits), kind
    return _PLAIN[kind], kind


def _dots(curve: Curve, area: PlotArea, columns: int, rows: int) -> Iterator[tuple[int, int]]:
    """Each dot of a curve, counted from the left and the top."""
    drawn, every = _DASHES[curve.kind]
    for x, low_psi, high_psi in _ranges(curve, area, columns):
        if x % every >= drawn:
            continue
        low, high = (_row(psi, area, rows) for psi in (low_psi, high_psi))
        for y in range(max(0, low), min(rows - 1, high) + 1):
            yield x, rows - 1 - y


def _row(psi: float, area: PlotArea, rows: int) -> int:
    """Row from the bottom; it may lie outside the area."""
    return round((psi - area.low_psi) / (area.high_psi - area.low_psi) * (rows - 1))


def _ranges(curve: Curve, area: PlotArea, columns: int) -> Iterator[tuple[int, float, float]]:
    """Least and greatest stress in each column; neighbours touch."""
    scale = (columns - 1) / (area.end_s - area.start_s)
    points = [((t_s - area.start_s) * scale, low, high) for t_s, low, high in curve.points]
    found: dict[int, tuple[float, float]] = {}
    for start, end in pairwise(points[:1] + points):
        _join(found, start, end, columns)
    for x in sorted(found):
        low, high = found[x]
        before_low, before_high = found.get(x - 1, (low, high))
        yield x, min(low, before_high), max(high, before_low)


def _join(
    found: dict[int, tuple[float, float]],
    start: tuple[float, float, float],
    end: tuple[float, float, float],
    columns: int,
) -> None:
    """Widen the columns from one point to the next."""
    (x0, low0, high0), (x1, low1, high1) = start, end
    last = floor(x1)
    for x in range(max(0, floor(x0) + 1), min(columns, last)):
        share = (x - x0) / (x1 - x0)
        _widen(found, x, low0 + (low1 - low0) * share, high0 + (high1 - high0) * share)
    if 0 <= last < columns:
        _widen(found, last, low1, high1)


def _widen(found: dict[int, tuple[float, float]], x: int, low: float, high: float) -> None:
    if x in found:
        low, high = min(low, found[x][0]), max(high, found[x][1])
    found[x] = (low, high)
