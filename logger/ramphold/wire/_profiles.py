"""The shape of an instrument's line, as data: a new shape is a new row."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from msgspec import Struct

from ramphold.errors import ConfigError
from ramphold.wire._lines import LINE_LIMIT, LineDecoder
from ramphold.wire._numbers import parse_number

# Dashes in place of a number, with or without a point.
_DASHES = re.compile(rb"-[-. ]*-")
#: How `Profile.words` spells any run of dashes.
DASHES = b"--"
#: Group of a pattern that takes a number, however padded, or a word in its place. It is greedy: a
#: match that takes as little as it can tries the rest of the pattern after each character.
VALUE = rb"(?P<value>[-+ 0-9.,]*| *(?:OL|UL|H|L|Err))"

S = TypeVar("S")
F = TypeVar("F")


class Fields(Struct, Generic[S], frozen=True, kw_only=True):
    """The content of a line: a state, and a number with its unit if it has one."""

    state: S
    number: tuple[int, int] | None
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile(Generic[S]):
    """The shape of a line.

    Attributes:
        name: its name in a configuration.
        about: the shape in words.
        pattern: the whole line, stripped of spaces and NUL; groups `state`, `value` and `unit`,
            each of which may be missing. Two groups overlap if a blank unit marks a moving value.
        states: the meaning of each text of `state`; b"" is a missing one.
        otherwise: the meaning of any other text of `state`; None: the line does not fit.
        numbered: the states that need a number.
        words: what may be printed in place of a number, or alone in a line, with its meaning.
        units: the unit that each printed one (in lower case) stands for.
        alone: whether such a word may be alone in a line.
        skip: lines without content, such as the echo of a command.
        query: bytes that ask for the value now; None if it cannot be asked.
        widths: the possible lengths of a whole line in bytes; empty if they vary.
        limit: the greatest length of a line in bytes.
        anchored: whether a line that lost its beginning can be told from a whole one.
        tells_rest: whether a line says whether its value is at rest.
        needs_unit: whether a line may lack its unit, which the configuration then gives.
        bare_unit: the unit of values without one; empty if every line has its unit.
    """

    name: str
    about: str
    pattern: re.Pattern[bytes]
    states: Mapping[bytes, S]
    otherwise: S | None = None
    numbered: tuple[S, ...]
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
        """Whether `line` has no content."""
        text = line.strip(b" \0")
        if not text:
            return True
        if self.skip is None or (self.alone and self._word(text) is not None):
            return False
        return self.skip.fullmatch(text) is not None

    def read(self, line: bytes) -> Fields[S] | None:
        """The content of `line`; None if it does not have the shape."""
        text = line.strip(b" \0")
        word = self._word(text) if self.alone else None
        if word is not None:
            return Fields(state=word, number=None, unit="")
        if self.widths and len(line.lstrip(b"\0")) not in self.widths:
            return None
        match = self.pattern.fullmatch(text)
        return None if match is None else self._fields(match)

    def _fields(self, match: re.Match[bytes]) -> Fields[S] | None:
        groups = match.groupdict(b"")
        state = self.states.get(groups.get("state", b"").strip(), self.otherwise)
        if state is None:
            return None
        value = groups.get("value", b"")
        number = parse_number(value)
        printed = groups.get("unit", b"").decode("ascii", "replace").lower()
        unit = self.units.get(printed, "") if printed else self.bare_unit
        if state in self.numbered and (number is None or not unit):
            word = self._word(value.strip())
            return None if word is None else Fields(state=word, number=None, unit=unit)
        return Fields(state=state, number=number, unit=unit)

    def _word(self, text: bytes) -> S | None:
        dashes = text.startswith(b"-") and _DASHES.fullmatch(text)
        return self.words.get(DASHES if dashes else text)


def profile_decoder(
    profile: Profile[S],
    frame: Callable[[Fields[S], bytes], F],
    garbled: Callable[[bytes], F],
    *,
    doubt_first: bool = True,
) -> LineDecoder[F]:
    """A decoder of lines of a profile.

    Args:
        profile: the shape.
        frame: makes a frame of a line's fields and its bytes.
        garbled: makes the frame of a line that does not have the shape.
        doubt_first: whether the first line may be the tail of one; it is garbled, unless the shape
            would show that.
    """

    def decode(line: bytes) -> F | None:
        if profile.skips(line):
            return None
        fields = profile.read(line)
        return garbled(line) if fields is None else frame(fields, line)

    return LineDecoder(
        decode, garbled, limit=profile.limit, doubt_first=doubt_first and not profile.anchored
    )


def chosen(profiles: Mapping[str, Profile[S]], name: str, unit: str) -> Profile[S]:
    """The profile of a name, with the unit of values without one.

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
