"""Fields of a form, each with what may stand in it. Pure."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from ramphold import units
from ramphold.errors import InputError

__all__ = [
    "Check",
    "Field",
    "ValueTyped",
    "count",
    "errors",
    "mass_or_nothing",
    "text",
    "value_typed",
]

_MOST_SPECIMENS = 50

#: Raises InputError where a field can't stand as it does, given what stands in all of them.
Check = Callable[[Mapping[str, str]], object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field.

    Attributes:
        name: tells it from the others.
        label: what it is called.
        hint: what may stand in it.
        filled: what stands in it at first.
        check: sees that it can stand as it does.
    """

    name: str
    label: str
    check: Check
    hint: str = ""
    filled: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueTyped:
    """A property's value, or how many grains were like each value of the chart."""

    value: float | None = None
    counts: tuple[tuple[float, int], ...] = ()


def errors(fields: Iterable[Field], texts: Mapping[str, str]) -> dict[str, str]:
    """What is wrong with each field; those that are right are left out."""
    found = {}
    for field in fields:
        try:
            field.check(texts)
        except InputError as error:
            found[field.name] = str(error)
    return found


def text(name: str, *, least: int = 1, most: int = 200) -> Check:
    """A check for so many characters."""

    def check(texts: Mapping[str, str]) -> None:
        if not least <= len(texts[name].strip()) <= most:
            raise InputError(f"expected {least} to {most} characters")

    return check


def mass_or_nothing(texts: Mapping[str, str]) -> float | None:
    """The mass in g in the field `mass`; None where that is empty.

    Raises:
        InputError: it is no mass.
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
        InputError: it is no number of them.
    """
    if not typed.strip().isdecimal() or int(typed) > _MOST_SPECIMENS:
        raise InputError(f"{typed!r} is no number of specimens: expected 0 to {_MOST_SPECIMENS}")
    return int(typed)


def value_typed(typed: str) -> ValueTyped:
    """A value, or counts such as `0.7=12 0.8=8`.

    Raises:
        InputError: it is neither.
    """
    pairs = [part.partition("=") for part in typed.replace(",", " ").split()]
    try:
        if len(pairs) == 1 and not pairs[0][1]:
            return ValueTyped(value=float(pairs[0][0]))
        counts = tuple((float(shape), int(count)) for shape, _, count in pairs)
    except ValueError:
        counts = ()
    if not counts:
        raise InputError(
            f"{typed!r} is no value: expected a number, or counts such as 0.7=12 0.8=8"
        )
    return ValueTyped(counts=counts)
