"""All keys, from the one table."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from ramphold_tui.keys import help_lines
from ramphold_tui.screens.sheet import Sheet

__all__ = ["HelpScreen"]


class HelpScreen(Sheet[None]):
    """The help, over whatever place it was asked for in."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,space", "dismiss", "back"),
        Binding("up", "scroll(-1)"),
        Binding("down", "scroll(1)"),
    ]

    def content(self) -> ComposeResult:
        """The table as text."""
        yield Static("\n".join([*help_lines(), "", "Up, Down: more   Esc: back"]), markup=False)

    def action_scroll(self, lines: int) -> None:
        """Show what does not fit."""
        self.query_one(".sheet").scroll_relative(y=lines, animate=False)
