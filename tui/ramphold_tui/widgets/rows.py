"""Lines of a table, one of which is chosen."""

from typing import ClassVar

from textual import events
from textual.message import Message
from textual.reactive import reactive

from ramphold_tui.widgets.drawn import Drawn


class Rows(Drawn):
    """Rows of text; the chosen one is marked and stays in sight."""

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
        row = event.y + self._first()
        if row < len(self.rows):
            self.post_message(self.Touched(row))

    def draw_row(self, row: int, width: int) -> list[tuple[str, str]]:
        """One row with its mark."""
        place = row + self._first()
        if place >= len(self.rows):
            return []
        chosen = place == self.chosen
        text = f"{'>' if chosen else ' '} {self.rows[place]}"
        return [(text.ljust(width), "rows--chosen" if chosen else "")]

    def _first(self) -> int:
        return max(0, self.place - self.size.height + 1)
