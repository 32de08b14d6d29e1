"""The line shapes of the simulated instruments.

Written from firmware-notes and not from the tables of `wire`, so that each checks the other. Common
practice; the bits of the framed shape from memory.
"""

from collections.abc import Callable, Mapping
from enum import StrEnum

from msgspec import Struct

_END = "\r\n"


class Showing(StrEnum):
    """The state of a displayed value."""

    REST = "at rest"
    MOVING = "moving"
    OVER = "overload"
    UNDER = "underload"


class Shown(Struct, frozen=True, kw_only=True):
    """A displayed value, with its number of decimal places and its unit."""

    state: Showing
    value: float
    places: int
    unit: str

    @property
    def word(self) -> str:
        """The word in place of a value that is out of range; empty if it is in range."""
        return {Showing.OVER: "OL", Showing.UNDER: "UL"}.get(self.state, "")

    @property
    def letters(self) -> str:
        """The state in two letters."""
        return self.word or ("ST" if self.state is Showing.REST else "US")

    def number(self, form: str) -> str:
        """The value formatted, or the word in the same width."""
        number = f"{self.value:{form}.{self.places}f}"
        return f"{self.word:>{len(number)}}" if self.word else number


def _load_state_comma(shown: Shown) -> str:
    value = "  --------" if shown.word else shown.number("=+10").replace(" ", "0")
    sign, digits = value[0], value[2:]
    return f"{shown.letters},GS,{sign} {digits} {shown.unit}{_END}"


def _mass_state_comma(shown: Shown) -> str:
    value = "+99999.999" if shown.word else shown.number(f"+0{7 + shown.places}")
    return f"{shown.letters},{value}  {shown.unit}{_END}"


def _reply_state(shown: Shown) -> str:
    if shown.word:
        return f"S {'+' if shown.state is Showing.OVER else '-'}{_END}"
    letter = "S" if shown.state is Showing.REST else "D"
    return f"S {letter} {shown.number('10')} {shown.unit}{_END}"


def _unit_at_rest(shown: Shown) -> str:
    unit = shown.unit if shown.state is Showing.REST else ""
    return f"{shown.number('=+10')} {unit:<3}{_END}"


def _mark_while_moving(shown: Shown) -> str:
    mark = " ?" if shown.state is Showing.MOVING else ""
    return f"{shown.number('=+10')} {shown.unit}{mark}{_END}"


def _mode_letter(shown: Shown) -> str:
    return f"     G{shown.number('13')} {shown.unit:<4}{_END}"


def _letter_at_rest(shown: Shown) -> str:
    letter = "S" if shown.state is Showing.REST else " "
    return f"{shown.number('9')}  {shown.unit}{letter}{_END}"


def _digit_at_rest(shown: Shown) -> str:
    if shown.word:
        return f"{shown.word}{_END}"
    return f"{shown.number('+08')}/{0 if shown.state is Showing.REST else 3} G S{_END}"


def _framed(shown: Shown) -> str:
    negative = shown.value < 0 or shown.state is Showing.UNDER
    moving = shown.state is Showing.MOVING
    status = (
        0x20 | shown.places + 2,
        0x20 | negative << 1 | bool(shown.word) << 2 | moving << 3,
        0x20 | (shown.unit == "g"),
    )
    steps = 999_999 if shown.word else round(abs(shown.value) * 10**shown.places)
    return f"\x02{''.join(map(chr, status))}{steps:6d}{0:6d}\r"


def _net_line(shown: Shown) -> str:
    value = f"{shown.number('=+10')} {shown.unit}"
    tare = f"{0:=+10.{shown.places}f} {shown.unit}"
    return f"No. 0008{_END}G      {value}{_END}T      {tare}{_END}N      {value}{_END}{_END}"


def _prints_at_rest(shape: Callable[[Shown], str]) -> Callable[[Shown], str]:
    """A shape without a mark of movement, so its balance prints no moving value."""
    return lambda shown: "" if shown.state is Showing.MOVING else shape(shown)


#: The shapes of a load indicator's line, by the name of the profile.
LOAD_SHAPES: Mapping[str, Callable[[Shown], str]] = {
    "state-comma": _load_state_comma,
    "mark-while-moving": _mark_while_moving,
    "unit-at-rest": _unit_at_rest,
    "mode-letter": _mode_letter,
    "framed": _framed,
}

#: The shapes of a balance's line, by the name of the profile.
MASS_SHAPES: Mapping[str, Callable[[Shown], str]] = {
    "reply-state": _reply_state,
    "state-comma": _mass_state_comma,
    "unit-at-rest": _unit_at_rest,
    "mark-while-moving": _mark_while_moving,
    "mode-letter": _prints_at_rest(_mode_letter),
    "letter-at-rest": _letter_at_rest,
    "digit-at-rest": _digit_at_rest,
    "framed": _framed,
    "net-line": _prints_at_rest(_net_line),
}

#: The query of each shape that has one, without the end of line.
MASS_QUERIES: Mapping[str, bytes] = {
    "reply-state": b"SI",
    "state-comma": b"Q",
    "unit-at-rest": b"\x1bP",
    "mark-while-moving": b"P",
    "letter-at-rest": b"P",
    "digit-at-rest": b"Q",
}
