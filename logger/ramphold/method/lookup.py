"""Finding an entry of a table by its name."""

from collections.abc import Mapping
from typing import TypeVar

from ramphold.errors import InputError

T = TypeVar("T")


def find(table: Mapping[str, T], name: str, what: str) -> T:
    """The entry of that name; spaces around the name do not count.

    Raises:
        InputError: there is none; the text says that the name is no `what`, and lists the names.
    """
    try:
        return table[name.strip()]
    except KeyError:
        raise InputError(f"{name!r} is no {what}: expected one of {', '.join(table)}") from None
