"""Dialogs, each of which returns one thing or None where the operator thought better of it."""

from collections.abc import Iterator
from typing import ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Button, Input, Static

from ramphold import units
from ramphold.control.methods import NewSpecimen, SpecimenDetail
from ramphold.errors import InputError
from ramphold_tui import formats
from ramphold_tui.screens.sheet import Sheet

__all__ = ["InitialsDialog", "ReasonDialog", "SpecimenDialog", "StartDialog"]

T = TypeVar("T")


class _Form(Sheet[T | None], Generic[T]):
    """Fields over one another; what is wrong is said while one types, Enter takes the lot."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss", "back")]
    TITLE_TEXT = ""
    #: Name of each field, what it is called, and what stands in it at first.
    FIELDS: tuple[tuple[str, str, str], ...] = ()

    def content(self) -> ComposeResult:
        """Title, fields, and what is wrong with them."""
        yield Static(self.TITLE_TEXT, classes="title", markup=False)
        for name, label, text in self.FIELDS:
            yield Static(label, classes="label")
            yield Input(text, id=name, compact=True)
        yield Static(id="wrong", markup=False)
        yield Static("Enter: done   Esc: back", classes="label")

    def text(self, name: str) -> str:
        """What stands in a field."""
        return self.query_one(f"#{name}", Input).value.strip()

    def read(self) -> T:
        """What the fields say.

        Raises:
            InputError: what is wrong with them.
        """
        raise NotImplementedError

    @on(Input.Changed)
    def check(self) -> None:
        """Say what is still wrong."""
        self._told()

    @on(Input.Submitted)
    def finish(self, event: Input.Submitted) -> None:
        """Go to the next field, or be done in the last one."""
        if event.input.id != self.FIELDS[-1][0]:
            self.focus_next()
            return
        for result in self._told():
            self.dismiss(result)

    def _told(self) -> list[T]:
        try:
            result, wrong = [self.read()], ""
        except InputError as error:
            result, wrong = [], str(error)
        self.query_one("#wrong", Static).update(wrong)
        return result


class InitialsDialog(_Form[str]):
    """Who works here."""

    TITLE_TEXT = "Operator"
    FIELDS = (("initials", "initials, kept with every mass and run", ""),)

    def read(self) -> str:
        """The initials."""
        return _text(self.text("initials"), "initials", 12)


class ReasonDialog(_Form[str]):
    """Why a mass is replaced by what stands on the balance now."""

    FIELDS = (("reason", "reason", ""),)

    def __init__(self, about: str) -> None:
        super().__init__()
        self.TITLE_TEXT = about

    def read(self) -> str:
        """The reason."""
        return _text(self.text("reason"), "a reason", 200)


class SpecimenDialog(_Form[NewSpecimen]):
    """A specimen to be crushed."""

    TITLE_TEXT = "New specimen"
    FIELDS = (
        ("label", "label, as the laboratory calls it", ""),
        ("target", "target stress, with its unit", "4000psi"),
        ("bore", "bore of the cell, with its unit", "2in"),
    )

    def __init__(self, operator: str) -> None:
        super().__init__()
        self._operator = operator

    def read(self) -> NewSpecimen:
        """The specimen."""
        return NewSpecimen(
            label=_text(self.text("label"), "a label", 200),
            target_psi=units.parse(self.text("target"), units.STRESS),
            bore_in=units.parse(self.text("bore"), units.LENGTH),
            operator=self._operator,
        )


class StartDialog(Sheet[bool]):
    """Whether to follow the crush of a specimen from now on; `not yet` is the ready answer."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "answer(False)", "back"),
        Binding("left,right,up,down", "app.focus_next", "choose"),
    ]

    def __init__(self, detail: SpecimenDetail, warning: str) -> None:
        super().__init__()
        self._detail, self._warning = detail, warning

    def content(self) -> ComposeResult:
        """What will be followed, and two answers."""
        yield Static("\n".join(self._lines()), markup=False)
        with Horizontal(classes="answers"):
            yield Button("not yet", id="no", compact=True)
            yield Button("start the run", id="yes", compact=True)

    def action_answer(self, answer: bool) -> None:  # noqa: FBT001 - an action's argument
        """Take the answer."""
        self.dismiss(answer)

    @on(Button.Pressed)
    def take(self, event: Button.Pressed) -> None:
        """Take the answer of a button."""
        self.dismiss(event.button.id == "yes")

    def _lines(self) -> Iterator[str]:
        specimen = self._detail.specimen
        yield f"Follow the crush of {specimen.label} from now on?"
        yield ""
        yield f"target {formats.psi(specimen.target_psi)} in a bore of {specimen.bore_in:g} in"
        if self._warning:
            yield self._warning


def _text(text: str, what: str, most: int) -> str:
    if not text or len(text) > most:
        raise InputError(f"expected {what}, up to {most} characters")
    return text
