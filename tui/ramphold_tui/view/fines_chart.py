"""Fines by stress against the limit, drawn with characters.

Each stress has its figures at the left and its marks beside them: one a specimen, the mean, and one
standard deviation each way. Fines run to the right, since a terminal has more columns than rows.
"""

from collections.abc import Iterator

from msgspec import Struct

from ramphold.method.crush_class import StressPoint
from ramphold.method.limits import over
from ramphold_tui.view import formats
from ramphold_tui.view.glyphs import Marks

#: A piece of a row: its text and its kind: `word`, `scale`, `limit`, `spread`, `specimen`.
Piece = tuple[str, str]

#: Marks of a specimen: it counts; a person left it out; it does not count for another reason.
COUNTS, LEFT_OUT, UNDECIDED = "o", "x", "?"

_TABLE = f"{'psi':>7}{'n':>3}{'mean':>7}{'sd':>6}       "
_STEPS_PCT = (1, 2, 5, 10, 20, 50)
_TICK_WIDTH = 8
# Room beyond the highest value, and where the limit lies if all values are far below it.
_MORE = 1.04
_LIMIT_SHARE = 0.75


class StressRow(Struct, frozen=True, kw_only=True):
    """One stress.

    Attributes:
        stress_psi: the stress in psi.
        fines: fines in % and mark of each specimen whose fines are known.
        point: mean and spread of those that count; None if none does.
    """

    stress_psi: float
    fines: tuple[tuple[float, str], ...]
    point: StressPoint | None


class FinesChart(Struct, frozen=True, kw_only=True):
    """Every stress, lowest first, and the limit in %, if there is one."""

    rows: tuple[StressRow, ...]
    limit_pct: float | None

    @property
    def high_pct(self) -> float:
        """Fines in % at the right edge; the left edge is 0."""
        reach = [pct for row in self.rows for pct, _ in row.fines]
        reach += [row.point.mean_pct + (row.point.sd_pct or 0.0) for row in self.rows if row.point]
        high_pct = max(reach, default=0.0) * _MORE
        return max(high_pct, (self.limit_pct or 1.0) / _LIMIT_SHARE)


def draw_fines(figure: FinesChart, width: int, height: int, marks: Marks) -> list[list[Piece]]:
    """The chart as rows of pieces, the scale first; a stress takes two rows if there is room.

    If one row each is too much, the lowest stresses are left out, and a row says so.
    """
    room = max(1, width - len(_TABLE))
    plot = _Plot(figure, room, marks)
    lines = [[(_TABLE, "scale"), *plot.scale()]]
    rows, hidden = figure.rows, len(figure.rows) - (height - 1)
    if hidden > 0:
        rows = rows[hidden + 1 :]
        lines.append([(f"  {hidden + 1} lower ones not shown", "scale")])
    roomy = 2 * len(rows) <= height - len(lines)
    for row in rows:
        words = _words(row, figure.limit_pct)
        if roomy:
            lines += [[*words, *plot.specimens(row)], [(" " * len(_TABLE), ""), *plot.spread(row)]]
        else:
            lines.append([*words, *plot.both(row)])
    return lines


def _words(row: StressRow, limit_pct: float | None) -> list[Piece]:
    psi, point = formats.grouped(row.stress_psi), row.point
    if point is None:
        return [(f"{psi:>7}{0:>3}".ljust(len(_TABLE)), "word")]
    sd = "--" if point.sd_pct is None else f"{point.sd_pct:.2f}"
    is_over = limit_pct is not None and over(point.mean_pct, limit_pct)
    said = "OVER" if is_over else "within"
    text = f"{psi:>7}{point.n:>3}{point.mean_pct:>7.2f}{sd:>6} "
    return [(text, "word"), (f"{said:<6}", "over" if is_over else "word")]


class _Plot:
    """Draws the cells of one row."""

    def __init__(self, figure: FinesChart, width: int, marks: Marks) -> None:
        self._figure, self._width, self._marks = figure, width, marks

    def scale(self) -> list[Piece]:
        """Round fines in %, each above its column."""
        most = max(1, self._width // _TICK_WIDTH)
        high_pct = self._figure.high_pct
        step = next((one for one in _STEPS_PCT if high_pct / one <= most), _STEPS_PCT[-1])
        cells: dict[int, Piece] = {}
        ticks = [(float(pct), "scale") for pct in range(0, int(high_pct) + 1, step)]
        if self._figure.limit_pct is not None:
            ticks.append((self._figure.limit_pct, "limit"))
        for pct, part in ticks:
            text = f"{pct:g} %"
            start = max(0, min(self._at(pct) - len(f"{pct:g}") // 2, self._width - len(text)))
            cells.update({start + at: (letter, part) for at, letter in enumerate(text)})
        return self._parts(cells)

    def specimens(self, row: StressRow) -> list[Piece]:
        """The limit, and a mark for each specimen that counts."""
        return self._parts(self._limit() | self._specimens(row, counted=True))

    def spread(self, row: StressRow) -> list[Piece]:
        """The limit, mean and spread, and the marks of specimens that do not count."""
        return self._parts(self._limit() | self._spread(row) | self._specimens(row, counted=False))

    def both(self, row: StressRow) -> list[Piece]:
        """All of it in one row."""
        return self._parts(self._limit() | self._spread(row) | self._specimens(row))

    def _limit(self) -> dict[int, Piece]:
        limit_pct = self._figure.limit_pct
        return {} if limit_pct is None else {self._at(limit_pct): (self._marks.line, "limit")}

    def _specimens(self, row: StressRow, *, counted: bool | None = None) -> dict[int, Piece]:
        at: dict[int, list[str]] = {}
        for pct, mark in row.fines:
            if counted in (None, mark == COUNTS):
                at.setdefault(self._at(pct), []).append(mark)
        # Marks that share a cell are counted, so that none seems to be missing.
        return {
            x: (found[0] if len(found) == 1 else str(min(len(found), 9)), "specimen")
            for x, found in at.items()
        }

    def _spread(self, row: StressRow) -> dict[int, Piece]:
        if row.point is None:
            return {}
        mean_pct, sd_pct = row.point.mean_pct, row.point.sd_pct or 0.0
        low, mean, high = (
            self._at(pct) for pct in (mean_pct - sd_pct, mean_pct, mean_pct + sd_pct)
        )
        cells = dict.fromkeys(range(low, high + 1), (self._marks.track, "spread"))
        if low < mean:
            cells[low] = (self._marks.ends[0], "spread")
        if mean < high:
            cells[high] = (self._marks.ends[1], "spread")
        cells[mean] = (self._marks.middle, "spread")
        return cells

    def _at(self, pct: float) -> int:
        share = max(0.0, pct) / self._figure.high_pct
        return min(self._width - 1, round(share * (self._width - 1)))

    def _parts(self, cells: dict[int, Piece]) -> list[Piece]:
        return list(_joined(cells.get(x, (" ", "")) for x in range(self._width)))


def _joined(cells: Iterator[Piece]) -> Iterator[Piece]:
    text, kind = "", ""
    for letter, part in cells:
        if part != kind and text:
            yield text, kind
            text = ""
        text, kind = text + letter, part
    if text:
        yield text, kind
