"""The dialogs of a line or two, each of which returns one thing or None where it was left."""

from collections.abc import Mapping
from dataclasses import dataclass

from ramphold.method.entered import PROPERTIES
from ramphold_tui.screens.form_dialog import FormDialog
from ramphold_tui.view.form_fields import Field, ValueTyped, mass_or_nothing, text, value_typed

__all__ = [
    "InitialsDialog",
    "MassDialog",
    "MassTyped",
    "ReasonDialog",
    "ReviewDialog",
    "TextDialog",
    "ValueDialog",
]


class TextDialog(FormDialog[str]):
    """One line of text.

    Args:
        title: what it is about.
        field: the field.
    """

    def __init__(self, title: str, field: Field) -> None:
        super().__init__(title, [field])
        self._only = field.name

    def read(self, texts: Mapping[str, str]) -> str:
        """The text."""
        return texts[self._only].strip()


class InitialsDialog(TextDialog):
    """Who works here."""

    def __init__(self) -> None:
        check = text("initials", most=12)
        hint = "kept with everything that is written down"
        super().__init__(
            "Who works here?", Field(name="initials", label="initials", hint=hint, check=check)
        )


class ReasonDialog(TextDialog):
    """Why something is so; the report prints it."""

    def __init__(self, title: str) -> None:
        check = text("reason", most=1000)
        hint = "stands in the record and in the report"
        super().__init__(title, Field(name="reason", label="reason", hint=hint, check=check))


class ReviewDialog(FormDialog[tuple[str, str]]):
    """Who looked a sample over, and what he remarks."""

    def __init__(self) -> None:
        super().__init__(
            "The whole sample was looked over by somebody who wrote nothing of it",
            [
                Field(name="initials", label="initials", hint="of who looked it over",
                      check=text("initials", most=12)),
                Field(name="remarks", label="remarks", hint="may be empty",
                      check=text("remarks", least=0, most=1000)),
            ],
        )  # fmt: skip

    def read(self, texts: Mapping[str, str]) -> tuple[str, str]:
        """Initials and remarks."""
        return texts["initials"].strip(), texts["remarks"].strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class MassTyped:
    """A mass in g, None for what stands on the balance; and a reason, None where none is given."""

    mass_g: float | None
    reason: str | None


class MassDialog(FormDialog[MassTyped]):
    """A mass that is typed, or that on the balance; and why.

    Args:
        title: what it is about.
        why: the hint for the reason.
        needed: whether there must be a reason.
    """

    def __init__(self, title: str, why: str, *, needed: bool) -> None:
        super().__init__(
            title,
            [
                Field(
                    name="mass",
                    label="mass g",
                    hint="empty: what stands on the balance now",
                    check=mass_or_nothing,
                ),
                Field(
                    name="reason",
                    label="reason",
                    hint=why,
                    check=text("reason", least=1 if needed else 0, most=1000),
                ),
            ],
        )

    def read(self, texts: Mapping[str, str]) -> MassTyped:
        """Mass and reason."""
        return MassTyped(mass_g=mass_or_nothing(texts), reason=texts["reason"].strip() or None)


class ValueDialog(FormDialog[ValueTyped]):
    """A result that a person enters.

    Args:
        what: name of the property.
    """

    def __init__(self, what: str) -> None:
        kind = PROPERTIES[what]
        hint = kind.unit or "a number"
        if kind.by_grains:
            hint = "grains like each value of the chart, such as 0.7=12 0.8=8; or their mean"
        field = Field(name="value", label=what, hint=hint, check=self.read)
        super().__init__(f"Enter {what}", [field])

    def read(self, texts: Mapping[str, str]) -> ValueTyped:
        """The value."""
        return value_typed(texts["value"])
