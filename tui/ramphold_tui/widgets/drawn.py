"""A widget that draws its rows itself, and only when what it shows changes."""

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from ramphold_tui.view.elements import Tone
from ramphold_tui.view.glyphs import UNICODE, Marks


class Drawn(Widget):
    """Base of our own widgets; their size comes from the style sheet alone.

    What a widget shows is a reactive attribute. Where it changes with nearly every reading and
    fills several rows, it is made with `repaint=False`, and its watcher calls `refresh_rows`.
    """

    #: What the terminal can show; the application sets it before it makes the first widget.
    marks: Marks = UNICODE

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - Textual's word
        super().__init__(id=id, classes=classes)
        self._painted: dict[int, list[tuple[str, str]]] = {}
        self._tone = ""

    def set_tone(self, tone: str) -> None:
        """Take on the style of a tone."""
        if tone != self._tone:
            self._tone = tone
            for name in Tone:
                self.set_class(name == tone, f"-{name}")

    def refresh_rows(self) -> None:
        """Have those rows painted that no longer show what was painted last."""
        width, height = self.size
        for row in range(height):
            if self._painted.get(row) != self.draw_row(row, width):
                self.refresh(Region(0, row, width, 1))

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

    _base: Style | None = None

    def render_lines(self, crop: Region) -> list[Strip]:
        """The rows of a region; its rows share one style, which is costly to find."""
        self._base = None
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        """One row, cut or filled to the widget's width."""
        width = self.size.width
        if self._base is None:
            self._base = self.rich_style
        base = self._base
        pieces = self._painted[y] = self.draw_row(y, width)
        # Outdated rows are grey as a whole, so that no part looks current.
        parts = not self.has_class("-lost")
        segments = [
            Segment(text, base + self.get_component_rich_style(part) if part and parts else base)
            for text, part in pieces
        ]
        return Strip(segments).adjust_cell_length(width, Style(bgcolor=base.bgcolor))
