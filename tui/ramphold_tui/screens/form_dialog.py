"""A dialog of fields: what is wrong is said under each, Enter goes on, nothing is lost unsaid."""

from collections.abc import Mapping, Sequence
from typing import ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.events import DescendantFocus
from textual.widgets import Input, Static

from ramphold_tui.screens.dialog import Dialog
from ramphold_tui.view.form_fields import Field, errors

__all__ = ["FormDialog"]

T = TypeVar("T")


class FormDialog(Dialog[T | None], Generic[T]):
    """Fields under one another, and the result that they give; None where it was left.

    Args:
        title: what it is about.
        fields: the fields.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back"),
        Binding("up", "app.focus_previous", "before", show=False),
        Binding("down", "app.focus_next", "after", show=False),
    ]

    KEYS_TEXT = "Enter: next field, done in the last   Esc: back"

    def __init__(self, title: str, fields: Sequence[Field]) -> None:
        super().__init__()
        self._title, self._fields = title, tuple(fields)
        self._touched: set[str] = set()

    def content(self) -> ComposeResult:
        """Title, fields with what is wrong with them, and what may stand in the one in use."""
        yield Static(self._title, classes="title", markup=False)
        for field in self._fields:
            with Horizontal(classes="field"):
                yield Static(field.label, id=f"label-{field.name}", classes="label", markup=False)
                yield Input(field.filled, id=field.name, compact=True, select_on_focus=False)
            yield Static(id=f"wrong-{field.name}", classes="wrong under", markup=False)
        yield Static(id="hint", markup=False)
        yield Static(self.KEYS_TEXT, classes="keys")

    @property
    def texts(self) -> dict[str, str]:
        """What stands in the fields."""
        return {field.name: self.query_one(f"#{field.name}", Input).value for field in self._fields}

    def read(self, texts: Mapping[str, str]) -> T:
        """The result, from fields without errors."""
        raise NotImplementedError

    @on(DescendantFocus)
    def tell_hint(self, event: DescendantFocus) -> None:
        """Say which field is in use, and what may stand in it."""
        for field in self._fields:
            here = field.name == event.widget.id
            self.query_one(f"#label-{field.name}").set_class(here, "-here")
            if here:
                self.query_one("#hint", Static).update(field.hint)

    @on(Input.Changed)
    def check(self, event: Input.Changed) -> None:
        """Say what is wrong, as one types."""
        if event.value or (event.input.id or "") in self._touched:
            self._touched.add(event.input.id or "")
        self._told()

    @on(Input.Submitted)
    def finish(self, event: Input.Submitted) -> None:
        """Go to the next field; in the last one be done, or go to the first that is wrong."""
        if event.input.id != self._fields[-1].name:
            self._touched.add(event.input.id or "")
            self._told()
            self.focus_next()
            return
        self._touched |= {field.name for field in self._fields}
        wrong = self._told()
        if wrong:
            self.query_one(f"#{next(iter(wrong))}", Input).focus()
        else:
            self.dismiss(self.read(self.texts))

    def _told(self) -> dict[str, str]:
        wrong = errors(self._fields, self.texts)
        for field in self._fields:
            tell = field.name in wrong and field.name in self._touched
            shown = f"! {wrong[field.name]}" if tell else ""
            said = self.query_one(f"#wrong-{field.name}", Static)
            if said.content != shown:
                said.update(shown, layout=False)
        return wrong
