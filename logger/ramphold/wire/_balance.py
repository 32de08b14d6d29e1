"""Lines of a balance: the answer to a query, what its print key sends, and continuous output."""

import re
from dataclasses import dataclass

from ramphold.core import MassState
from ramphold.errors import ConfigError
from ramphold.units import MASS
from ramphold.wire._framed import MOVING, OVER, STILL, UNDER, FramedProfile
from ramphold.wire._lines import LineDecoder
from ramphold.wire._numbers import scaled
from ramphold.wire._pattern import PATTERN_LINE_LIMIT, bounded_pattern
from ramphold.wire._profiles import DASHES, LABEL, VALUE, Profile, chosen, unit_words

__all__ = [
    "MASS_PROFILES",
    "MassFrame",
    "MassProfile",
    "custom_mass_profile",
    "mass_decoder",
    "mass_profile",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class MassFrame:
    """What one line of a balance says.

    Attributes:
        state: what the balance says of itself.
        mass_g: mass in g; None unless the state is stable or moving.
        digits: the printed digits as an integer, 0 where there are none.
        exponent: power of ten of `digits`.
        unit: printed unit; empty where missing.
        line: the bytes that carried it.
    """

    state: MassState
    mass_g: float | None = None
    digits: int = 0
    exponent: int = 0
    unit: str = ""
    line: bytes

    @property
    def readable(self) -> bool:
        """Whether the line kept to the shape."""
        return self.state is not MassState.GARBLED


MassProfile = Profile[MassState]

_NUMBERED = frozenset({MassState.STABLE, MassState.MOVING})

_SIZE_G = {unit: MASS.sizes[unit] for unit in ("g", "mg", "kg", "lb")} | {"ct": 0.2}
_UNITS = {unit: unit for unit in _SIZE_G}
_ANY_UNIT = rb"(?:(?i:[mk]?g|lb|ct))"
_UNIT = rb"(?P<unit>" + _ANY_UNIT + rb"?)"

_WORDS = {
    b"OL": MassState.OVERLOAD,
    b"H": MassState.OVERLOAD,
    b"+": MassState.OVERLOAD,
    b"UL": MassState.UNDERLOAD,
    b"L": MassState.UNDERLOAD,
    b"-": MassState.UNDERLOAD,
    b"Err": MassState.ERROR,
    DASHES: MassState.ERROR,
}
# A line begins with its sign, so that one which lost its beginning shows.
_SIGNED = rb"(?P<value>[-+][ 0-9.,]*)"
_NET = rb"N(?:et|ET)? *:? *"

MASS_PROFILES: dict[str, MassProfile] = {
    profile.name: profile
    for profile in (
        Profile(
            name="reply-state",
            about="answer to a query: command letter, state letter, right-aligned value, unit",
            pattern=re.compile(
                rb"[A-Z]{1,3} (?P<state>[-+SDI])(?: +" + VALUE + b" *" + _UNIT + b")?"
            ),
            states={
                b"S": MassState.STABLE,
                b"D": MassState.MOVING,
                b"I": MassState.BUSY,
                b"+": MassState.OVERLOAD,
                b"-": MassState.UNDERLOAD,
            },
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            skip=re.compile(rb"[A-Z]{1,3}"),  # a command that came back
            query=b"SI\r\n",
        ),
        Profile(
            name="state-comma",
            about="two-letter state, comma, perhaps a mode, padded value, unit",
            pattern=re.compile(
                rb"(?P<state>ST|US|OL|UL)(?:,(?:GS|NT|TR))?," + VALUE + b" *" + _UNIT
            ),
            states={
                b"ST": MassState.STABLE,
                b"US": MassState.MOVING,
                b"OL": MassState.OVERLOAD,
                b"UL": MassState.UNDERLOAD,
            },
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            skip=re.compile(rb"Q"),  # its query, sent back
            query=b"Q\r\n",
        ),
        Profile(
            name="unit-at-rest",
            about="fixed width, perhaps a label: sign, value, and a unit, blank while moving",
            pattern=re.compile(LABEL + _SIGNED + rb" *(?P<state>(?P<unit>" + _ANY_UNIT + rb"?))"),
            states={b"": MassState.MOVING} | unit_words(_SIZE_G, MassState.STABLE),
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            skip=re.compile(rb"T[ A-Z0-9]{5}[-+].*"),  # the tare
            query=b"\x1bP\r\n",
            widths=frozenset({14, 20}),
            needs_unit=True,
        ),
        Profile(
            name="mark-while-moving",
            about="right-aligned value, unit, and a question mark while moving",
            pattern=re.compile(VALUE + b" *" + _UNIT + rb" *(?P<state>\??)"),
            states={b"": MassState.STABLE, b"?": MassState.MOVING},
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            skip=re.compile(rb"I?P"),  # its query, sent back
            query=b"P\r\n",
            anchored=False,
        ),
        Profile(
            name="mode-letter",
            about="mode letter, right-aligned value, unit; says nothing of rest",
            pattern=re.compile(rb"[GN] +" + VALUE + b" *" + _UNIT),
            states={b"": MassState.STABLE},
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            skip=re.compile(rb"T +[-+ 0-9.,]+" + _ANY_UNIT),  # the tare
            tells_rest=False,
        ),
        Profile(
            name="letter-at-rest",
            about="fixed width: value in nine, two blanks, unit letter, S at rest or a blank",
            pattern=re.compile(VALUE + rb"  (?P<unit>[gG])(?P<state>S?)"),
            states={b"S": MassState.STABLE, b"": MassState.MOVING},
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            skip=re.compile(rb"P"),  # its query, sent back
            query=b"P\r\n",
            widths=frozenset({13}),
        ),
        Profile(
            name="digit-at-rest",
            about="signed value, stroke, a digit that is 0 at rest, perhaps two letters",
            pattern=re.compile(_SIGNED + rb"/(?P<state>[0-9])(?: +[GN])?(?: +[A-Z])?"),
            states={b"0": MassState.STABLE},
            otherwise=MassState.MOVING,
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            skip=re.compile(rb"Q|[-+][ 0-9.,]*/[0-9] +T.*"),  # its query sent back, and the tare
            query=b"Q\r\n",
            needs_unit=True,
        ),
        FramedProfile(
            name="framed",
            about="start byte, three status bytes, six digits of value, six of tare, CR",
            pattern=re.compile(rb""),
            states={
                STILL: MassState.STABLE,
                MOVING: MassState.MOVING,
                OVER: MassState.OVERLOAD,
                UNDER: MassState.UNDERLOAD,
            },
            numbered=_NUMBERED,
            words={},
            units=_UNITS,
            others={1: "g"},
        ),
        Profile(
            name="net-line",
            about="print key, several lines: the one that begins with N or Net has the value",
            pattern=re.compile(_NET + VALUE + b" *" + _UNIT),
            states={b"": MassState.STABLE},
            numbered=_NUMBERED,
            words=_WORDS,
            alone=False,
            units=_UNITS,
            # Whatever is printed beside it; but what begins as the net does has to fit.
            skip=re.compile(rb"(?!N(?:et|ET)?[ :+\-0-9])[ -~]*"),
            tells_rest=False,
        ),
    )
}


def custom_mass_profile(
    *, pattern: str, stable: str = "", unit: str = "", query: str = "", skip: str = ""
) -> MassProfile:
    """A profile as a user writes it.

    Args:
        pattern: regular expression of a whole line, blanks at its ends taken off; its group
            `value` takes the number, `unit` the unit, `state` what says whether it is at rest.
        stable: what `state` takes at rest; anything else is moving.
        unit: the unit of a value that comes without one.
        query: text that asks for the value now, with its terminator.
        skip: regular expression of lines to pass over.

    Raises:
        ConfigError: a pattern can't be used, or there is no telling the unit.
    """
    compiled = bounded_pattern(pattern, "pattern", "value")
    if unit and unit.lower() not in _UNITS:
        raise ConfigError(f"unit is {unit!r}: expected one of {', '.join(_UNITS)}")
    if not unit and "unit" not in compiled.groupindex:
        raise ConfigError("pattern has no group (?P<unit>...): expected one, or unit")
    if not (stable + query).isascii():
        raise ConfigError("stable and query: expected ASCII characters only")
    told = "state" in compiled.groupindex
    return Profile(
        name="custom",
        about="as the configuration says",
        pattern=compiled,
        states={stable.strip().encode(): MassState.STABLE} if told else {b"": MassState.STABLE},
        otherwise=MassState.MOVING if told else None,
        numbered=_NUMBERED,
        words=_WORDS,
        skip=bounded_pattern(skip, "skip") if skip else None,
        units=_UNITS,
        query=query.encode() or None,
        limit=PATTERN_LINE_LIMIT,
        anchored=False,
        tells_rest=told,
        bare_unit=unit.lower(),
    )


def mass_profile(profile: str, unit: str = "") -> MassProfile:
    """The profile of a name in `MASS_PROFILES`, with the unit of values that come without one.

    Raises:
        ConfigError: there is no such profile, or it needs a unit, or it takes none or not this.
    """
    return chosen(MASS_PROFILES, profile, unit)


def mass_decoder(profile: MassProfile, *, doubt_first: bool = True) -> LineDecoder[MassFrame]:
    """A decoder for the bytes of a balance.

    Args:
        profile: the shape of its lines.
        doubt_first: whether the first line may be the tail of one; it is garbled, unless the
            shape would show that.
    """
    return LineDecoder(
        lambda line: _decode(line, profile),
        _garbled,
        limit=profile.limit,
        doubt_first=doubt_first and not profile.anchored,
    )


def _decode(line: bytes, profile: MassProfile) -> MassFrame | None:
    """The frame that a line carries; None where the line says nothing."""
    if profile.skips(line):
        return None
    fields = profile.read(line)
    if fields is None:
        return _garbled(line)
    digits, exponent = fields.number or (0, 0)
    mass_g = scaled(digits, exponent, _SIZE_G[fields.unit]) if fields.state in _NUMBERED else None
    return MassFrame(
        state=fields.state,
        mass_g=mass_g,
        digits=digits,
        exponent=exponent,
        unit=fields.unit,
        line=line,
    )


def _garbled(line: bytes) -> MassFrame:
    return MassFrame(state=MassState.GARBLED, line=line)
