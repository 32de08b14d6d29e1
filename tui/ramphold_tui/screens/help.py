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

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,space", "dismiss", "back")]

    def content(self) -> ComposeResult:
        """The table as text."""
        yield Static("\n".join([*help_lines(), "", "Esc: back"]), markup=False)
