"""A dialog in which one thing is chosen."""

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from ramphold_tui.screens.dialog import Dialog
from ramphold_tui.widgets import Rows


class ChoiceDialog(Dialog[int | None]):
    """Rows of which Enter takes one; gives its place, or None if it is left.

    Args:
        title: the question.
        options: the answers.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back"),
        Binding("up", "move(-1)", "up"),
        Binding("down", "move(1)", "down"),
        Binding("enter", "take", "take"),
    ]

    def __init__(self, title: str, options: Sequence[str]) -> None:
        super().__init__()
        self._title, self._options = title, tuple(options)

    def content(self) -> ComposeResult:
        """Title and options."""
        yield Static(self._title, classes="title", markup=False)
        yield Rows(id="options")
        yield Static("Up Down: choose   Enter: take it   Esc: back", classes="keys")

    def on_mount(self) -> None:
        """Show the options, the first one chosen."""
        rows = self.query_one(Rows)
        rows.styles.height = len(self._options)
        rows.rows, rows.chosen = self._options, 0

    def action_move(self, places: int) -> None:
        """Choose another row."""
        rows = self.query_one(Rows)
        rows.chosen = max(0, min((rows.chosen or 0) + places, len(self._options) - 1))

    def action_take(self) -> None:
        """Take the chosen row."""
        self.dismiss(self.query_one(Rows).chosen)

    @on(Rows.Touched)
    def touch(self, event: Rows.Touched) -> None:
        """Choose the touched row; a second touch takes it."""
        rows = self.query_one(Rows)
        if rows.chosen == event.row:
            self.action_take()
        rows.chosen = event.row
