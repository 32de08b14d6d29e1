"""What a line of an instrument looks like, as data: one row per wire shape.

A new kind of line is a new row; the code that reads rows is here, once.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from ramphold.errors import ConfigError
from ramphold.wire._lines import LINE_LIMIT
from ramphold.wire._numbers import parse_number

__all__ = ["DASHES", "LABEL", "VALUE", "Fields", "Profile", "chosen", "unit_words"]

# Dashes in place of a number, with or without the point: one word, whatever its length.
_DASHES = re.compile(rb"-[-. ]*-")
#: How `Profile.words` spells any run of dashes.
DASHES = b"--"
#: Group of a pattern that takes a number however padded, or a word in its place.
VALUE = rb"(?P<value>[-+ 0-9.,]*?| *(?:OL|UL|H|L|Err))"
#: Six characters before a value of fixed width: its mode, padded.
LABEL = rb"(?:[GN] {5})?"

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
        otherwise: what any other text of `state` means; None where the line then does not fit.
        numbered: the states that need a number.
        words: what may stand in a number's place, or alone in a line, and what it means.
        units: the unit that each printed one (in lower case) is.
        alone: whether such a word may stand alone in a line.
        skip: lines that say nothing, such as the echo of a command.
        query: bytes that ask for the value now; None where it can't be asked.
        widths: the lengths in bytes that a whole line has; empty where they vary.
        limit: the longest line in bytes that it is taken to mean.
        anchored: whether a line that lost its beginning can be told from a whole one.
        tells_rest: whether a line says that its value is at rest.
        needs_unit: whether a line may come without its unit, so that a bench has to say it.
        bare_unit: the unit of a value that comes without one; empty where it always comes.
    """

    name: str
    about: str
    pattern: re.Pattern[bytes]
    states: Mapping[bytes, S]
    otherwise: S | None = None
    numbered: frozenset[S]
    words: Mapping[bytes, S]
    units: Mapping[str, str]
    alone: bool = True
    skip: re.Pattern[bytes] | None = None
    query: bytes | None = None
    widths: frozenset[int] = frozenset()
    limit: int = LINE_LIMIT
    anchored: bool = True
    tells_rest: bool = True
    needs_unit: bool = False
    bare_unit: str = ""

    def skips(self, line: bytes) -> bool:
        """Whether `line` is one that says nothing."""
        text = line.strip(b" \0")
        if not text:
            return True
        if self.skip is None or (self.alone and self._word(text) is not None):
            return False
        return self.skip.fullmatch(text) is not None

    def read(self, line: bytes) -> Fields[S] | None:
        """What `line` says, or None where it does not keep to the shape."""
        text = line.strip(b" \0")
        word = self._word(text) if self.alone else None
        if word is not None:
            return Fields(state=word, number=None, unit="")
        if self.widths and len(line.lstrip(b"\0")) not in self.widths:
            return None
        match = self.pattern.fullmatch(text)
        return None if match is None else self._fields(match)

    def _fields(self, match: re.Match[bytes]) -> Fields[S] | None:
        groups = match.groupdict()
        state = self.states.get((groups.get("state") or b"").strip(), self.otherwise)
        if state is None:
            return None
        value = groups.get("value") or b""
        number = parse_number(value)
        printed = (groups.get("unit") or b"").decode("ascii", "replace").lower()
        unit = self.units.get(printed, "") if printed else self.bare_unit
        if state in self.numbered and (number is None or not unit):
            word = self._word(value.strip())
            return None if word is None else Fields(state=word, number=None, unit=unit)
        return Fields(state=state, number=number, unit=unit)

    def _word(self, text: bytes) -> S | None:
        return self.words.get(DASHES if _DASHES.fullmatch(text) else text)


def unit_words(units: Iterable[str], state: S) -> dict[bytes, S]:
    """A state for each way to write each unit, where the unit's presence is what marks it."""
    return {form.encode(): state for unit in units for form in (unit, unit.lower(), unit.upper())}


def chosen(profiles: Mapping[str, Profile[S]], name: str, unit: str) -> Profile[S]:
    """The profile of that name, with the unit of values that come without one.

    Raises:
        ConfigError: there is no such profile, or it needs a unit, or it takes none or not this.
    """
    if name not in profiles:
        known = ", ".join(profiles)
        raise ConfigError(f"unknown line profile {name!r}: expected one of {known}")
    profile = profiles[name]
    if unit and not profile.needs_unit:
        raise ConfigError(f"unit is {unit!r}, but a line of profile {name!r} has its own")
    known = ", ".join(sorted(set(profile.units.values())))
    if profile.needs_unit and not unit:
        raise ConfigError(
            f"a line of profile {name!r} may come without its unit: expected unit, one of {known}"
        )
    if unit and unit.lower() not in profile.units:
        raise ConfigError(f"unit is {unit!r}: expected one of {known}")
    return replace(profile, bare_unit=profile.units[unit.lower()]) if unit else profile
