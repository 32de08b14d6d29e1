"""A plot of load and line over time."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui.view import formats
from ramphold_tui.view.curve_plot import CurveKind, draw, row_of
from ramphold_tui.view.load_plot import LoadPlot
from ramphold_tui.widgets.drawn import Drawn

_GUTTER = 7
# Below it the times of start and end have no room under the curve.
_LEAST = _GUTTER + 16
_STYLES = {
    CurveKind.NOTHING: "",
    CurveKind.LIMIT: "trace-plot--limit",
    CurveKind.LINE: "trace-plot--line",
    CurveKind.LOAD: "trace-plot--load",
}


class TracePlot(Drawn):
    """Stresses at the left, times below, curves between them."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "trace-plot--limit",
        "trace-plot--line",
        "trace-plot--load",
        "trace-plot--scale",
    }

    plot: reactive[LoadPlot | None] = reactive(None, repaint=False)

    _drawn: tuple[object, list[list[tuple[str, str]]]] = (None, [])

    def watch_plot(self) -> None:
        """Paint the rows through which the curve goes."""
        self.refresh_rows()

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """A row of the plot, which is drawn once for all its rows."""
        key = (self.plot, self.room)
        if self._drawn[0] != key:
            height = self.room.height
            room = height > 1 and width > _LEAST
            rows = self._rows(self.plot, width, height) if self.plot and room else []
            self._drawn = (key, rows)
        rows = self._drawn[1]
        return rows[row] if row < len(rows) else []

    def _rows(self, plot: LoadPlot, width: int, height: int) -> list[list[tuple[str, str]]]:
        area, inner = plot.area, height - 1
        braille = self.marks.braille
        names = {row_of(psi, area, inner, braille=braille): text for psi, text in plot.levels}
        # Under the highest stress; beside the time it would look like a part of it.
        under, unit = min(names, default=0) + 1, "psi"
        if under < inner and under not in names:
            names[under], unit = unit, ""
        rows = [
            [(f"{names.get(y, ''):>{_GUTTER - 1}} ", "trace-plot--scale")]
            + [(text, _STYLES[kind]) for text, kind in pieces]
            for y, pieces in enumerate(
                draw(plot.curves, area, width - _GUTTER, inner, braille=braille)
            )
        ]
        start, end = (formats.countdown(max(0.0, t_s)) for t_s in (area.start_s, area.end_s))
        times = f"{unit:>{_GUTTER - 1}} {start}{end:>{width - _GUTTER - len(start)}}"
        return [*rows, [(times, "trace-plot--scale")]]
