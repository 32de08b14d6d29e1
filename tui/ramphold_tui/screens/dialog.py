"""What all dialogs have in common: the press stays in sight on top."""

from typing import TypeVar

from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.screen import ModalScreen

from ramphold_tui.messages import ScreenShown
from ramphold_tui.widgets import PressStrip

T = TypeVar("T")


class Dialog(ModalScreen[T]):
    """A dialog over the place where it was opened."""

    def compose(self) -> ComposeResult:
        """The press in one line, and the dialog."""
        yield PressStrip()
        with Container(classes="middle"), VerticalScroll(classes="sheet", can_focus=False):
            yield from self.content()

    def content(self) -> ComposeResult:
        """What the dialog shows."""
        raise NotImplementedError

    def on_screen_resume(self) -> None:
        """Ask to be shown what is known now."""
        self.post_message(ScreenShown())
