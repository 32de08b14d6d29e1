"""The deliberate act by which a run begins."""

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Button, Static

from ramphold.core import Style
from ramphold_tui.screens.dialog import Dialog

__all__ = [
    "StartDialog",
]


class StartDialog(Dialog[Style | None]):
    """Whether to follow the crush of a specimen from now on, and how it is paced.

    `not yet` is the ready answer.

    Args:
        label: what the specimen is called.
        lines: the facts of the run.
        warning: what would be done first; empty where this is next.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back"),
        Binding("left,up", "app.focus_previous", "choose"),
        Binding("right,down", "app.focus_next", "choose"),
    ]

    def __init__(self, label: str, lines: Sequence[str], warning: str) -> None:
        super().__init__()
        self._label, self._lines, self._warning = label, lines, warning

    def content(self) -> ComposeResult:
        """What will be followed, and the answers."""
        title = f"Follow the crush of {self._label} from now on?"
        yield Static(title, classes="title", markup=False)
        yield Static("\n".join(self._lines), markup=False)
        yield Static(self._warning, classes="wrong", markup=False)
        with Horizontal(classes="answers"):
            yield Button("not yet", id="no", compact=True)
            yield Button("start, squeeze", id=Style.SQUEEZE, compact=True)
            yield Button("start, strokes", id=Style.STROKES, compact=True)
        yield Static("Left Right: choose   Enter: take it   Esc: back", classes="keys")

    @on(Button.Pressed)
    def take(self, event: Button.Pressed) -> None:
        """Take the answer of a button."""
        chosen = event.button.id
        self.dismiss(Style(chosen) if chosen in list(Style) else None)
