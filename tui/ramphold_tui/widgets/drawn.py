"""A widget that draws its rows itself, and only when what it shows changes."""

from collections.abc import Iterator
from contextlib import contextmanager

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.strip import Strip

from ramphold_tui.view.elements import Tone
from ramphold_tui.view.glyphs import UNICODE, Marks
from ramphold_tui.widgets.kept_lines import KeptLines


class Drawn(KeptLines):
    """Base of our own widgets; their size comes from the style sheet alone.

    What a widget shows is a reactive attribute. Where it changes with nearly every reading, it is
    made with `repaint=False`, and its watcher calls `refresh_rows`.
    """

    #: What the terminal can show; the application sets it before it makes the first widget.
    marks: Marks = UNICODE

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - Textual's word
        #: By component class; under None that of the rest of a row.
        self._part_styles: dict[str | None, Style] = {}
        super().__init__(id=id, classes=classes)
        self._painted: dict[int, list[tuple[str, str]]] = {}
        self._tone = ""
        self._room: Size | None = None

    @property
    def room(self) -> Size:
        """Its size. Textual works it out anew each time, so all rows at once ask for it once."""
        return self.size if self._room is None else self._room

    def set_tone(self, tone: str) -> None:
        """Take on the style of a tone."""
        if tone != self._tone:
            self._tone = tone
            for name in Tone:
                self.set_class(name == tone, f"-{name}")

    def refresh_rows(self) -> None:
        """Have those rows painted that no longer show what was painted last."""
        with self._all_rows():
            width, height = self.room
            if not height:  # hidden: nothing of it is painted until it is shown
                self._kept = None
            changed = [
                Region(0, row, width, 1)
                for row in range(height)
                if self._painted.get(row) != self.draw_row(row, width)
            ]
        if changed:
            self.refresh(*changed)

    def request_height(self) -> None:
        """Ask for the height that the rows need, now and once more after the next refresh.

        Textual answers a request that comes while an earlier one is open with the height that it
        found for that one.
        """
        self.refresh(layout=True)
        self.call_after_refresh(self.refresh, layout=True)

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """A row as pieces of (text, name of a component class or nothing)."""
        raise NotImplementedError

    def _forget(self, *, whole: bool) -> None:
        """Keep no line, and no style where it may have changed."""
        super()._forget(whole=whole)
        if whole:
            self._part_styles.clear()

    @contextmanager
    def _all_rows(self) -> Iterator[None]:
        self._room = self.size
        try:
            yield
        finally:
            self._room = None

    def _draw_lines(self, crop: Region) -> list[Strip]:
        with self._all_rows():
            return super()._draw_lines(crop)

    def render_line(self, y: int) -> Strip:
        """One row, cut or filled to the widget's width."""
        width = self.room.width
        pieces = self._painted[y] = self.draw_row(y, width)
        segments = [Segment(text, self._style(part)) for text, part in pieces]
        return Strip(segments).adjust_cell_length(width, self._style(None))

    def _style(self, part: str | None) -> Style:
        """The style of a part of a row, which is costly to find."""
        found = self._part_styles.get(part)
        if found is None:
            found = self.rich_style
            if part is None:
                found = Style(bgcolor=found.bgcolor)
            # Outdated rows are grey as a whole, so that no part looks current.
            elif part and not self.has_class("-lost"):
                found += self.get_component_rich_style(part)
            self._part_styles[part] = found
        return found
