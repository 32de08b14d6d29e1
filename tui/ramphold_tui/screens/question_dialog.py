"""A dialog with a question and a few answers."""

from collections.abc import Mapping
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Button, Static

from ramphold_tui.screens.dialog import Dialog

_NO = "no"


class QuestionDialog(Dialog[str | None]):
    """A question; gives the key of the answer, or None for `not yet`, which is the ready answer.

    Args:
        title: the question.
        text: what it means.
        answers: the other answers, by key.
        warning: a reason to hesitate.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back"),
        Binding("left,up", "app.focus_previous", "choose"),
        Binding("right,down", "app.focus_next", "choose"),
    ]

    def __init__(
        self, title: str, text: str, answers: Mapping[str, str], warning: str = ""
    ) -> None:
        super().__init__()
        self._title, self._text, self._warning = title, text, warning
        self._answers = {_NO: "not yet", **answers}

    def content(self) -> ComposeResult:
        """The question and its answers."""
        yield Static(self._title, classes="title", markup=False)
        yield Static(self._text, markup=False)
        yield Static(self._warning, classes="wrong", markup=False)
        with Horizontal(classes="answers"):
            for key, label in self._answers.items():
                yield Button(label, id=key, compact=True)
        yield Static("Left Right: choose   Enter: answer   Esc: back", classes="keys")

    @on(Button.Pressed)
    def answer(self, event: Button.Pressed) -> None:
        """Give the answer of the pressed button."""
        self.dismiss(None if event.button.id == _NO else event.button.id)
