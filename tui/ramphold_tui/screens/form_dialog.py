"""A dialog that shows a form: an error stands under its field, and Enter goes on."""

from typing import ClassVar, TypeVar

from textual import on
from textual.actions import SkipAction
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.events import DescendantFocus
from textual.widgets import Input, Static

from ramphold_tui.screens.dialog import Dialog
from ramphold_tui.view.form_fields import InputForm

T = TypeVar("T")


class FormDialog(Dialog[T | None]):
    """A form; gives its result, or None if it is left.

    Args:
        form: what is asked for.
        draft: filled with what is typed, so that it outlives the dialog; None to forget it.
        refused: why what was typed before was not taken; the first secret is typed again.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back"),
        # First of all, so that what is sent right behind one lands in the field it leads to.
        Binding("up", "app.focus_previous", "before", priority=True),
        Binding("down", "app.focus_next", "after", priority=True),
        Binding("enter", "next_field", "next", priority=True),
    ]

    def __init__(
        self, form: InputForm[T], draft: dict[str, str] | None = None, refused: str = ""
    ) -> None:
        super().__init__()
        self._form, self._draft, self._refused = form, draft, refused
        self._touched: set[str] = set()

    def content(self) -> ComposeResult:
        """Title, fields with their errors, and a hint for the field in use."""
        yield Static(self._form.title, classes="title", markup=False)
        if self._refused:
            yield Static(f"! {self._refused}", classes="wrong", markup=False)
        for field in self._form.fields:
            with Horizontal(classes="field"):
                yield Static(field.label, id=f"label-{field.name}", classes="label", markup=False)
                yield Input(
                    field.filled,
                    id=field.name,
                    password=field.secret,
                    compact=True,
                    select_on_focus=False,
                )
            yield Static(id=f"wrong-{field.name}", classes="wrong under", markup=False)
        yield Static(id="hint", markup=False)
        enter = "next field, done in the last"
        if self._form.proposed:
            enter = "take all of it   Up Down: change a field"
        kept = self._draft is not None and not self._secrets
        yield Static(
            f"Enter: {enter}   Esc: {'back, what is typed is kept' if kept else 'back'}",
            classes="keys",
        )

    def on_mount(self) -> None:
        """After a refusal only the secret is missing."""
        if self._refused and self._secrets:
            self.query_one(f"#{self._secrets[0]}").focus()

    @property
    def _secrets(self) -> list[str]:
        return [field.name for field in self._form.fields if field.secret]

    @property
    def texts(self) -> dict[str, str]:
        """What the fields hold."""
        names = [field.name for field in self._form.fields]
        return {name: self.query_one(f"#{name}", Input).value for name in names}

    def action_next_field(self) -> None:
        """Go to the next field; in the last one, and in a form that is proposed, Enter submits."""
        names, here = [field.name for field in self._form.fields], self.focused
        if not isinstance(here, Input) or here.id == names[-1] or self._form.proposed:
            raise SkipAction
        name = here.id or ""
        self._touched.add(name)
        self._show_errors()
        self.set_focus(self.query_one(f"#{names[names.index(name) + 1]}"))

    @on(DescendantFocus)
    def show_hint(self, event: DescendantFocus) -> None:
        """Show which field is in use, and what may be typed there."""
        for field in self._form.fields:
            here = field.name == event.widget.id
            self.query_one(f"#label-{field.name}").set_class(here, "-here")
            if here:
                self.query_one("#hint", Static).update(field.hint)

    @on(Input.Changed)
    def check(self, event: Input.Changed) -> None:
        """Show errors while the operator types, and keep the draft."""
        if event.value or (event.input.id or "") in self._touched:
            self._touched.add(event.input.id or "")
        self._show_errors()
        if self._draft is not None:
            texts = self.texts
            self._draft.update({name: texts[name] for name in texts if name not in self._secrets})

    @on(Input.Submitted)
    def finish(self) -> None:
        """Finish, or go to the first wrong field."""
        self._touched |= {field.name for field in self._form.fields}
        if errors := self._show_errors():
            self.query_one(f"#{next(iter(errors))}", Input).focus()
        else:
            self.dismiss(self._form.read(self.texts))

    def _show_errors(self) -> dict[str, str]:
        errors = self._form.errors(self.texts)
        for field in self._form.fields:
            shown = field.name in errors and field.name in self._touched
            text = f"! {errors[field.name]}" if shown else ""
            below = self.query_one(f"#wrong-{field.name}", Static)
            if below.content != text:
                below.update(text)
        return errors
