"""Lines of a table, one of which is chosen."""

from typing import ClassVar

from textual import events
from textual.message import Message
from textual.reactive import reactive

from ramphold_tui.view import formats
from ramphold_tui.widgets.drawn import Drawn

# The mark of the chosen row and a space.
_MARK = 2


class Rows(Drawn):
    """Rows of text, wrapped where they are long; the chosen one is marked and stays in sight."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"rows--chosen"}

    rows: reactive[tuple[str, ...]] = reactive(())
    chosen: reactive[int | None] = reactive(None)

    class Touched(Message):
        """A row was clicked or touched."""

        def __init__(self, row: int) -> None:
            super().__init__()
            self.row = row

    @property
    def place(self) -> int:
        """The chosen row, or the first."""
        return self.chosen or 0

    def choose(self, row: int) -> None:
        """Choose a row, or the nearest one that there is."""
        self.chosen = max(0, min(row, len(self.rows) - 1)) if self.rows else None

    def on_click(self, event: events.Click) -> None:
        """Tell which row it was."""
        lines = self._lines(self.size.width)
        line = event.y + self._first(lines)
        if line < len(lines):
            self.post_message(self.Touched(lines[line][0]))

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One line of a row, with its mark in the first."""
        lines = self._lines(width)
        line = row + self._first(lines)
        if line >= len(lines):
            return []
        place, text = lines[line]
        begins = line == 0 or lines[line - 1][0] != place
        mark = ">" if place == self.chosen and begins else " "
        chosen = place == self.chosen
        return [(f"{mark} {text}".ljust(width), "rows--chosen" if chosen else "")]

    def _lines(self, width: int) -> list[tuple[int, str]]:
        """Each line with the row that it belongs to."""
        return [
            (place, line)
            for place, row in enumerate(self.rows)
            for line in formats.wrapped_row(row, width - _MARK)
        ]

    def _first(self, lines: list[tuple[int, str]]) -> int:
        """The first line in sight: the chosen row is seen whole."""
        below = sum(place <= self.place for place, _ in lines)
        return max(0, below - self.size.height)
