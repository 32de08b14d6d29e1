"""A dialog in which one of many things is found by a few letters of it."""

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input, Static

from ramphold_tui.screens.dialog import Dialog
from ramphold_tui.view.search import found_in
from ramphold_tui.widgets import Rows

_MOST_ROWS = 10


class SearchDialog(Dialog[int | None]):
    """Rows that narrow down while one types; gives the place of the taken one, or None.

    Args:
        title: what is looked for.
        options: all that can be found.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back"),
        Binding("up", "move(-1)", "up", priority=True),
        Binding("down", "move(1)", "down", priority=True),
    ]

    def __init__(self, title: str, options: Sequence[str]) -> None:
        super().__init__()
        self._title, self._options = title, tuple(options)
        self._found = tuple(range(len(self._options)))

    def content(self) -> ComposeResult:
        """Title, what is typed, what is found."""
        yield Static(self._title, classes="title", markup=False)
        yield Input(placeholder="a few letters of it", compact=True, id="sought")
        yield Rows(id="found")
        yield Static("type to find   Up Down: choose   Enter: take it   Esc: back", classes="keys")

    def on_mount(self) -> None:
        """Show all."""
        self.query_one(Rows).styles.height = min(_MOST_ROWS, max(1, len(self._options)))
        self._show()

    @on(Input.Changed)
    def narrow(self, event: Input.Changed) -> None:
        """Show what has all the words that are typed."""
        self._found = found_in(self._options, event.value)
        self._show()

    @on(Input.Submitted)
    def take(self) -> None:
        """Take the chosen row."""
        if self._found:
            self.dismiss(self._found[self.query_one(Rows).place])

    @on(Rows.Touched)
    def touch(self, event: Rows.Touched) -> None:
        """Choose the touched row; a second touch takes it."""
        rows = self.query_one(Rows)
        again = rows.chosen == event.row
        rows.choose(event.row)
        if again:
            self.take()

    def action_move(self, places: int) -> None:
        """Choose another row."""
        rows = self.query_one(Rows)
        rows.choose(rows.place + places)

    def _show(self) -> None:
        rows = self.query_one(Rows)
        rows.rows = tuple(self._options[place] for place in self._found) or ("no match",)
        rows.choose(0)
