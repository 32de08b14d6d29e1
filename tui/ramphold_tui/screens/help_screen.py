"""All keys, from the one table."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from ramphold_tui.screens.dialog import Dialog
from ramphold_tui.view.keys import help_lines


class HelpScreen(Dialog[None]):
    """The help, over the place where it was opened.

    Args:
        here: the place whose keys come first.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,space", "dismiss", "back"),
        Binding("up,pageup", "turn(-8)", "up"),
        Binding("down,pagedown", "turn(8)", "down"),
    ]

    def __init__(self, here: str) -> None:
        super().__init__()
        self._here = here

    def content(self) -> ComposeResult:
        """The table as text."""
        yield Static("Esc: back   Up Down: more", classes="keys title")
        yield Static("\n".join(help_lines(self._here)), markup=False)

    def action_turn(self, rows: int) -> None:
        """Scroll up or down."""
        self.query_one(".sheet").scroll_relative(y=rows, animate=False)
