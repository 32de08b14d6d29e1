"""The framed stream: a start byte, three status bytes, six digits of value, six of tare.

The bits are those that many indicators send (common practice, no source; the bits from memory).
Bit 5 of each status byte is always set, so none of them can be a control character.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from ramphold.wire._numbers import parse_number
from ramphold.wire._profiles import Fields, Profile

#: Keys of `FramedProfile.states`.
STILL, MOVING, OVER, UNDER = b"still", b"moving", b"over", b"under"

# A check sum may follow the CR; it then precedes the next frame. It is not verified, because
# instruments differ in whether and how they form it (firmware-notes/load-indicator.md).
_FRAME = re.compile(
    rb"\0*[\x00-\xff]?\x02(?P<status>[\x20-\x3f\x60-\x7f]{3})(?P<value>[ 0-9]{6})[ 0-9]{6}"
)

# Power of ten of the last digit if the place bits are 0.
_EXPONENT_OF_0, _PLACES = 2, 0b111
_NEGATIVE, _OUT_OF_RANGE, _IN_MOTION, _METRIC = 0b10, 0b100, 0b1000, 0b10000
_OTHER_UNIT = 0b111

S = TypeVar("S")


@dataclass(frozen=True, slots=True, kw_only=True)
class FramedProfile(Profile[S]):
    """A stream whose frames begin with the start byte and end with CR; the tare is ignored.

    `states` has the meaning of `STILL`, `MOVING`, `OVER` and `UNDER`; `units` that of `kg`, of `lb`
    and of the units in `others`.

    Attributes:
        others: the unit for each value of the unit bits in the third status byte.
    """

    others: Mapping[int, str]

    def skips(self, line: bytes) -> bool:
        """Whether `line` is only a check sum, or padding."""
        return len(line.strip(b" \0")) <= 1

    def read(self, line: bytes) -> Fields[S] | None:
        """The content of a frame; None if it is not whole."""
        match = _FRAME.fullmatch(line)
        if match is None:
            return None
        first, second, third = match["status"]
        other = third & _OTHER_UNIT
        printed = self.others.get(other) if other else ("kg" if second & _METRIC else "lb")
        unit = self.units.get(printed or "")
        number = parse_number(match["value"])
        if unit is None or number is None:
            return None
        negative = bool(second & _NEGATIVE)
        if second & _OUT_OF_RANGE:
            state = self.states[UNDER if negative else OVER]
            return Fields(state=state, number=None, unit=unit)
        state = self.states[MOVING if second & _IN_MOTION else STILL]
        digits = -number[0] if negative else number[0]
        return Fields(state=state, number=(digits, _EXPONENT_OF_0 - (first & _PLACES)), unit=unit)
