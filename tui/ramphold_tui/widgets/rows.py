"""Lines of a table, one of which is chosen."""

from typing import ClassVar

from textual import events
from textual.message import Message
from textual.reactive import reactive

from ramphold_tui.widgets.drawn import Drawn

__all__ = ["Rows"]


class Rows(Drawn):
    """Rows of text; the chosen one has a mark before it, and stays in sight."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"rows--chosen"}

    rows: reactive[tuple[str, ...]] = reactive(())
    chosen: reactive[int | None] = reactive(None)

    class Touched(Message):
        """A row was clicked or touched."""

        def __init__(self, row: int) -> None:
            super().__init__()
            self.row = row

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
        return max(0, (self.chosen or 0) - self.size.height + 1)
