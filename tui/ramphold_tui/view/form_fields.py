"""Forms: fields with a check of what is typed, and what they give."""

from collections.abc import Callable, Mapping
from typing import Generic, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from ramphold import units
from ramphold.errors import InputError

T = TypeVar("T")

_MOST_SPECIMENS = 50

#: Raises InputError if a field is wrong, given the texts of all fields.
Check = Callable[[Mapping[str, str]], object]


class Field(Struct, frozen=True):
    """One field.

    Attributes:
        name: identifies it within its form.
        label: what the screen calls it.
        check: checks what is typed.
        hint: what may be typed.
        filled: what it holds at first.
        secret: whether it is never shown, and kept in no draft.
    """

    name: str
    label: str
    check: Check
    hint: str = ""
    filled: str = ""
    secret: bool = False


class InputForm(Struct, Generic[T], frozen=True):
    """Fields under a title; `read` makes the result from texts without errors.

    Attributes:
        proposed: all of it is proposed, so Enter in any field takes the whole form.
    """

    title: str
    fields: tuple[Field, ...]
    read: Callable[[Mapping[str, str]], T]
    proposed: bool = False

    def errors(self, texts: Mapping[str, str]) -> dict[str, str]:
        """What is wrong, by field; a field that is right is left out."""
        found = {}
        for field in self.fields:
            try:
                field.check(texts)
            except InputError as error:
                found[field.name] = str(error)
        return found

    def filled(self, texts: Mapping[str, str]) -> "InputForm[T]":
        """The form with other texts to begin with; fields that are not named keep theirs."""
        fields = (replace(one, filled=texts.get(one.name, one.filled)) for one in self.fields)
        return replace(self, fields=tuple(fields))

    def proposing(self, texts: Mapping[str, str]) -> "InputForm[T]":
        """The form filled with a proposal, which one key takes if nothing is missing in it."""
        form = self.filled(texts)
        whole = not form.errors({one.name: one.filled for one in form.fields})
        return replace(form, proposed=whole)


class ValueTyped(Struct, frozen=True, kw_only=True):
    """A property's value, its determinations, or the grains like each value of the chart."""

    value: float | None = None
    values: tuple[float, ...] = ()
    counts: tuple[tuple[float, int], ...] = ()


def text_field(name: str, hint: str = "", *, least: int = 1, most: int = 200) -> Field:
    """A field for so many characters, labelled with its name."""

    def check(texts: Mapping[str, str]) -> None:
        if not least <= len(texts[name].strip()) <= most:
            raise InputError(f"expected {least} to {most} characters")

    return Field(name, name.replace("_", " "), check, hint)


def quantity_field(
    name: str, label: str, quantity: units.Quantity, example: str, filled: str = ""
) -> Field:
    """A field for a quantity with its unit."""

    def check(texts: Mapping[str, str]) -> float:
        return units.parse(texts[name], quantity)

    return Field(name, label, check, f"with its unit, such as {example}", filled)


def mass_or_nothing(texts: Mapping[str, str]) -> float | None:
    """The mass in g in the field `mass`; None if it is empty.

    Raises:
        InputError: it is not a mass.
    """
    given = texts["mass"].strip()
    if not given:
        return None
    if given in ("0", "0 g", "0g"):
        return 0.0
    return units.parse(given, units.MASS, bare=True)


def count(typed: str) -> int:
    """How many specimens.

    Raises:
        InputError: it is not a number from 0 to 50.
    """
    if not typed.strip().isdecimal() or int(typed) > _MOST_SPECIMENS:
        raise InputError(f"{typed!r} is no number of specimens: expected 0 to {_MOST_SPECIMENS}")
    return int(typed)


def value_typed(typed: str) -> ValueTyped:
    """A value, determinations such as `2.64 2.66 2.65`, or counts such as `0.7=12 0.8=8`.

    Raises:
        InputError: it is none of them.
    """
    counts: tuple[tuple[float, int], ...] = ()
    try:
        # A comma between digits would be a decimal one, and is refused.
        if "=" not in typed and (values := tuple(map(float, typed.split()))):
            return ValueTyped(value=values[0]) if len(values) == 1 else ValueTyped(values=values)
        pairs = [part.partition("=") for part in typed.replace(",", " ").split()]
        counts = tuple((float(shape), int(count)) for shape, _, count in pairs)
    except ValueError:
        counts = ()
    if not counts:
        raise InputError(
            f"{typed!r} is no value: expected a number, several determinations with spaces between "
            "them, or counts such as 0.7=12 0.8=8"
        )
    return ValueTyped(counts=counts)
