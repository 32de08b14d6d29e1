"""The line shapes that load indicators and balances share, in the words of either."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Generic, TypeVar

from ramphold.wire._framed_stream import MOVING, OVER, STILL, UNDER, FramedProfile
from ramphold.wire._profiles import DASHES, VALUE, Profile

S = TypeVar("S")

# Six characters before a value of fixed width: its mode, padded.
_LABEL = rb"(?:[GN] {5})?"
#: Group of a value that begins with its sign, so that a line which lost its beginning shows.
SIGNED = rb"(?P<value>[-+][ 0-9.,]*)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Vocabulary(Generic[S]):
    """What lines mean for one kind of instrument.

    Attributes:
        rest, moving, over, under, error: state of a value at rest, one that moves, one out of range
            either way, and of an instrument with an error.
        dashes: state of dashes in place of a number.
        units: the unit that each printed one (in lower case) stands for.
        any_unit: pattern of a printed unit.
        others: the unit of each value of the unit bits in the framed stream.
    """

    rest: S
    moving: S
    over: S
    under: S
    error: S
    dashes: S
    units: Mapping[str, str]
    any_unit: bytes
    others: Mapping[int, str]

    @property
    def unit(self) -> bytes:
        """Group of a pattern that takes a unit, or none."""
        return rb"(?P<unit>" + self.any_unit + rb"?)"

    @property
    def numbered(self) -> tuple[S, S]:
        """The states with a number."""
        return self.rest, self.moving

    @property
    def words(self) -> dict[bytes, S]:
        """What may be printed in place of a number."""
        return {
            **dict.fromkeys((b"OL", b"H", b"+"), self.over),
            **dict.fromkeys((b"UL", b"L", b"-"), self.under),
            b"Err": self.error,
            DASHES: self.dashes,
        }

    @property
    def written_units(self) -> dict[bytes, S]:
        """Rest, by each way to write each unit, for shapes in which the unit marks rest."""
        names = {*self.units, *self.units.values()}
        forms = {form for name in names for form in (name, name.lower(), name.upper())}
        return {form.encode(): self.rest for form in forms}


def shared_profiles(terms: Vocabulary[S]) -> dict[str, Profile[S]]:
    """The shapes by name, as load indicators send them; balances add their queries."""
    row = partial(Profile, numbered=terms.numbered, words=terms.words, units=terms.units)
    profiles = (
        row(
            name="state-comma",
            about="two-letter state, comma, perhaps a mode, sign, padded value, unit",
            pattern=re.compile(
                rb"(?P<state>ST|US|OL|UL)(?:,(?:GS|NT|TR))?," + VALUE + rb" *" + terms.unit
            ),
            states={b"ST": terms.rest, b"US": terms.moving, b"OL": terms.over, b"UL": terms.under},
        ),
        row(
            name="unit-at-rest",
            about="fixed width, perhaps a label: sign, value, and a unit, blank while moving",
            pattern=re.compile(_LABEL + SIGNED + rb" *(?P<state>" + terms.unit + rb")"),
            states={b"": terms.moving} | terms.written_units,
            widths=frozenset({14, 20}),
            needs_unit=True,
        ),
        row(
            name="mark-while-moving",
            about="right-aligned value, unit, and a question mark while moving",
            pattern=re.compile(VALUE + rb" *" + terms.unit + rb" *(?P<state>\??)"),
            states={b"": terms.rest, b"?": terms.moving},
            anchored=False,
        ),
        row(
            name="mode-letter",
            about="mode letter, right-aligned value, unit; says nothing of rest",
            pattern=re.compile(rb"[GN] +" + VALUE + rb" *" + terms.unit),
            states={b"": terms.rest},
            tells_rest=False,
        ),
        _framed(terms),
    )
    return {profile.name: profile for profile in profiles}


def _framed(terms: Vocabulary[S]) -> FramedProfile[S]:
    return FramedProfile(
        name="framed",
        about="start byte, three status bytes, six digits of value, six of tare, CR",
        pattern=re.compile(rb""),
        states={STILL: terms.rest, MOVING: terms.moving, OVER: terms.over, UNDER: terms.under},
        numbered=terms.numbered,
        words={},
        units=terms.units,
        others=terms.others,
    )
