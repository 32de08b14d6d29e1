"""The load against its line, over time."""

from typing import ClassVar

from textual.reactive import reactive

from ramphold_tui import formats
from ramphold_tui.plot import Kind, draw, row_of
from ramphold_tui.traces import Picture
from ramphold_tui.widgets.drawn import Drawn

__all__ = ["Trace"]

_GUTTER = 7
_STYLES = {
    Kind.NOTHING: "",
    Kind.LIMIT: "trace--limit",
    Kind.LINE: "trace--line",
    Kind.LOAD: "trace--load",
}


class Trace(Drawn):
    """Stresses at the left, times below, the curves in between."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "trace--limit",
        "trace--line",
        "trace--load",
        "trace--scale",
    }

    picture: reactive[Picture | None] = reactive(None)

    def __init__(
        self,
        *,
        id: str | None = None,  # noqa: A002 - Textual's word
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._drawn: tuple[object, list[list[tuple[str, str]]]] = (None, [])

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """A row of the picture, which is drawn once for all its rows."""
        key = (self.picture, self.size)
        if self._drawn[0] != key:
            height = self.size.height
            rows = self._rows(self.picture, width, height) if self.picture and height > 1 else []
            self._drawn = (key, rows)
        rows = self._drawn[1]
        return rows[row] if row < len(rows) else []

    def _rows(self, picture: Picture, width: int, height: int) -> list[list[tuple[str, str]]]:
        area, inner = picture.area, height - 1
        braille = self.marks.braille
        names = {row_of(psi, area, inner, braille=braille): text for psi, text in picture.levels}
        rows = [
            [(f"{names.get(y, ''):>{_GUTTER - 1}} ", "trace--scale")]
            + [(text, _STYLES[kind]) for text, kind in pieces]
            for y, pieces in enumerate(
                draw(picture.curves, area, width - _GUTTER, inner, braille=braille)
            )
        ]
        start, end = (formats.countdown(max(0.0, t_s)) for t_s in (area.start_s, area.end_s))
        times = f"{'psi':>{_GUTTER - 1}} {start}{end:>{width - _GUTTER - len(start)}}"
        return [*rows, [(times, "trace--scale")]]
