"""What a line of an instrument looks like, as data: one row per wire shape.

A new kind of line is a new row; the code that reads rows is here, once.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

from ramphold.errors import ConfigError
from ramphold.wire._numbers import parse_number

__all__ = ["DASHES", "VALUE", "Fields", "Profile", "named"]

# Dashes in place of a number, with or without the point: one word, whatever its length.
_DASHES = re.compile(rb"-[-. ]*-")
#: How `Profile.words` spells any run of dashes.
DASHES = b"--"
#: Group of a pattern that takes a number however padded, or a word in its place.
VALUE = rb"(?P<value>[-+ 0-9.,]*?| *(?:OL|UL|H|L|Err))"

S = TypeVar("S")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fields(Generic[S]):
    """What a line says: a state, and a number in a unit where it has one."""

    state: S
    number: tuple[int, int] | None
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile(Generic[S]):
    """One wire shape, by its own name.

    Attributes:
        name: what a configuration calls it.
        about: the shape in words.
        pattern: the whole line, spaces and NUL at its ends taken off; groups `state`, `value`
            and `unit`, each of which may be missing. Two groups may overlap, where a blank unit
            is what marks a moving value.
        states: what each text of `state` means; b"" is a missing one.
        numbered: the states that need a number.
        words: what may stand in a number's place, or alone in a line, and what it means.
        units: the unit that each printed one (in lower case) is.
        skip: lines that say nothing, such as the echo of a command.
        query: bytes that ask for the value now; None where it can't be asked.
    """

    name: str
    about: str
    pattern: re.Pattern[bytes]
    states: Mapping[bytes, S]
    numbered: frozenset[S]
    words: Mapping[bytes, S]
    units: Mapping[str, str]
    skip: re.Pattern[bytes] | None = None
    query: bytes | None = None

    def skips(self, line: bytes) -> bool:
        """Whether `line` is one that says nothing."""
        text = line.strip(b" \0")
        if not text:
            return True
        if self.skip is None or self._word(text) is not None:
            return False
        return self.skip.fullmatch(text) is not None

    def read(self, line: bytes) -> Fields[S] | None:
        """What `line` says, or None where it does not keep to the shape."""
        text = line.strip(b" \0")
        alone = self._word(text)
        if alone is not None:
            return Fields(state=alone, number=None, unit="")
        match = self.pattern.fullmatch(text)
        if match is None:
            return None
        groups = match.groupdict()
        state = self.states.get(groups.get("state") or b"")
        if state is None:
            return None
        value = groups.get("value") or b""
        number = parse_number(value)
        unit = self.units.get((groups.get("unit") or b"").decode("ascii").lower(), "")
        if state in self.numbered and (number is None or not unit):
            word = self._word(value.strip())
            return None if word is None else Fields(state=word, number=None, unit=unit)
        return Fields(state=state, number=number, unit=unit)

    def _word(self, text: bytes) -> S | None:
        return self.words.get(DASHES if _DASHES.fullmatch(text) else text)


def named(profiles: Mapping[str, Profile[S]], name: str) -> Profile[S]:
    """The profile of that name.

    Raises:
        ConfigError: when there is none.
    """
    try:
        return profiles[name]
    except KeyError:
        known = ", ".join(profiles)
        raise ConfigError(f"unknown line profile {name!r}: expected one of {known}") from None
