"""What all dialogs have in common: the press stays in sight on top."""

from typing import TypeVar

from textual.app import ComposeResult
from textual.await_complete import AwaitComplete
from textual.containers import Container, VerticalScroll
from textual.events import Resize
from textual.geometry import Size
from textual.screen import ModalScreen, Screen

from ramphold_tui.messages import ScreenShown
from ramphold_tui.widgets import PressStrip

T = TypeVar("T")


#: Under this size a screen has the class `-small`.
USUAL = Size(80, 24)


def mark_small(screen: Screen[T], size: Size) -> None:
    """Give a screen the class `-small` where it has little room."""
    screen.set_class(size.width < USUAL.width or size.height < USUAL.height, "-small")


class Dialog(ModalScreen[T]):
    """A dialog over the place where it was opened."""

    def compose(self) -> ComposeResult:
        """The press in one line, and the dialog."""
        yield PressStrip()
        with Container(classes="middle"), VerticalScroll(classes="sheet", can_focus=False):
            yield from self.content()

    def on_resize(self, event: Resize) -> None:
        """Leave out what a small terminal has no room for."""
        mark_small(self, event.size)

    def dismiss(self, result: T | None = None) -> AwaitComplete:
        """Close, once: a key that comes while it closes would close the place under it."""
        return super().dismiss(result) if self.is_active else AwaitComplete()

    def content(self) -> ComposeResult:
        """What the dialog shows."""
        raise NotImplementedError

    def on_screen_resume(self) -> None:
        """Ask to be shown what is known now."""
        self.post_message(ScreenShown())
