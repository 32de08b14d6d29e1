"""Lines of a balance: the answer to a query, what its print key sends, and continuous output."""

import re
from dataclasses import dataclass, replace
from functools import partial

from ramphold.core import MassState
from ramphold.errors import ConfigError
from ramphold.units import MASS
from ramphold.wire._custom_pattern import PATTERN_LINE_LIMIT, bounded_pattern
from ramphold.wire._lines import LineDecoder
from ramphold.wire._numbers import scaled
from ramphold.wire._profiles import VALUE, Fields, Profile, chosen, profile_decoder
from ramphold.wire._shared_shapes import SIGNED, Vocabulary, shared_profiles


@dataclass(frozen=True, slots=True, kw_only=True)
class MassFrame:
    """The content of one line of a balance.

    Attributes:
        state: the state that the balance reports.
        mass_g: mass in g; None unless the state is stable or moving.
        digits: the printed digits as an integer, 0 if there are none.
        exponent: power of ten of `digits`.
        unit: printed unit; empty if missing.
        line: its bytes.
    """

    state: MassState
    mass_g: float | None = None
    digits: int = 0
    exponent: int = 0
    unit: str = ""
    line: bytes

    @property
    def readable(self) -> bool:
        """Whether the line had the expected shape."""
        return self.state is not MassState.GARBLED


MassProfile = Profile[MassState]

_SIZE_G = {unit: MASS.sizes[unit] for unit in ("g", "mg", "kg", "lb")} | {"ct": 0.2}
_TERMS = Vocabulary(
    rest=MassState.STABLE,
    moving=MassState.MOVING,
    over=MassState.OVERLOAD,
    under=MassState.UNDERLOAD,
    error=MassState.ERROR,
    dashes=MassState.ERROR,
    units={unit: unit for unit in _SIZE_G},
    any_unit=rb"(?:(?i:[mk]?g|lb|ct))",
    others={1: "g"},
)
_SHARED = shared_profiles(_TERMS)
_profile = partial(Profile, numbered=_TERMS.numbered, words=_TERMS.words, units=_TERMS.units)

#: A balance may send its query back, or the tare beside the value: `skip` passes over both.
_ROWS = (
    _profile(
        name="reply-state",
        about="answer to a query: command letter, state letter, right-aligned value, unit",
        pattern=re.compile(
            rb"[A-Z]{1,3} (?P<state>[-+SDI])(?: +" + VALUE + b" *" + _TERMS.unit + b")?"
        ),
        states={
            b"S": MassState.STABLE,
            b"D": MassState.MOVING,
            b"I": MassState.BUSY,
            b"+": MassState.OVERLOAD,
            b"-": MassState.UNDERLOAD,
        },
        skip=re.compile(rb"[A-Z]{1,3}"),
        query=b"SI\r\n",
    ),
    replace(_SHARED["state-comma"], skip=re.compile(rb"Q"), query=b"Q\r\n"),
    replace(_SHARED["unit-at-rest"], skip=re.compile(rb"T[ A-Z0-9]{5}[-+].*"), query=b"\x1bP\r\n"),
    replace(_SHARED["mark-while-moving"], skip=re.compile(rb"I?P"), query=b"P\r\n"),
    replace(_SHARED["mode-letter"], skip=re.compile(rb"T +[-+ 0-9.,]+" + _TERMS.any_unit)),
    _profile(
        name="letter-at-rest",
        about="fixed width: value in nine, two blanks, unit letter, S at rest or a blank",
        pattern=re.compile(VALUE + rb"  (?P<unit>[gG])(?P<state>S?)"),
        states={b"S": MassState.STABLE, b"": MassState.MOVING},
        skip=re.compile(rb"P"),
        query=b"P\r\n",
        widths=frozenset({13}),
    ),
    _profile(
        name="digit-at-rest",
        about="signed value, slash, a digit that is 0 at rest, perhaps two letters",
        pattern=re.compile(SIGNED + rb"/(?P<state>[0-9])(?: +[GN])?(?: +[A-Z])?"),
        states={b"0": MassState.STABLE},
        otherwise=MassState.MOVING,
        skip=re.compile(rb"Q|[-+][ 0-9.,]*/[0-9] +T.*"),
        query=b"Q\r\n",
        needs_unit=True,
    ),
    _SHARED["framed"],
    _profile(
        name="net-line",
        about="print key, several lines: the one that begins with N or Net has the value",
        pattern=re.compile(rb"N(?:et|ET)? *:? *" + VALUE + b" *" + _TERMS.unit),
        states={b"": MassState.STABLE},
        alone=False,
        # Whatever is printed beside it; but a line that begins as the net does must fit.
        skip=re.compile(rb"(?!N(?:et|ET)?[ :+\-0-9])[ -~]*"),
        tells_rest=False,
    ),
)
MASS_PROFILES: dict[str, MassProfile] = {profile.name: profile for profile in _ROWS}


def custom_mass_profile(
    *, pattern: str, stable: str = "", unit: str = "", query: str = "", skip: str = ""
) -> MassProfile:
    """A profile written by a user.

    Args:
        pattern: regular expression of a whole line without the blanks at its ends; its group
            `value` takes the number, `unit` the unit, `state` the mark of rest.
        stable: text of `state` at rest; any other is moving.
        unit: the unit of values without one.
        query: text that asks for the value now, with its terminator.
        skip: regular expression of lines to pass over.

    Raises:
        ConfigError: a pattern cannot be used, or the unit is unknown.
    """
    compiled = bounded_pattern(pattern, "pattern", "value")
    if unit and unit.lower() not in _TERMS.units:
        raise ConfigError(f"unit is {unit!r}: expected one of {', '.join(_TERMS.units)}")
    if not unit and "unit" not in compiled.groupindex:
        raise ConfigError("pattern has no group (?P<unit>...): expected one, or unit")
    if not (stable + query).isascii():
        raise ConfigError("stable and query: expected ASCII characters only")
    told = "state" in compiled.groupindex
    return _profile(
        name="custom",
        about="as the configuration says",
        pattern=compiled,
        states={stable.strip().encode(): MassState.STABLE} if told else {b"": MassState.STABLE},
        otherwise=MassState.MOVING if told else None,
        skip=bounded_pattern(skip, "skip") if skip else None,
        query=query.encode() or None,
        limit=PATTERN_LINE_LIMIT,
        anchored=False,
        tells_rest=told,
        bare_unit=unit.lower(),
    )


def mass_profile(profile: str, unit: str = "") -> MassProfile:
    """The profile of a name in `MASS_PROFILES`.

    Args:
        profile: its name.
        unit: the unit of values without one.

    Raises:
        ConfigError: there is no such profile, or it needs a unit, or it takes none or not this.
    """
    return chosen(MASS_PROFILES, profile, unit)


def mass_decoder(profile: MassProfile, *, doubt_first: bool = True) -> LineDecoder[MassFrame]:
    """A decoder of the bytes of a balance.

    Args:
        profile: the shape of its lines.
        doubt_first: whether the first line may be the tail of one; it is garbled, unless the
            shape would show that.
    """
    return profile_decoder(profile, _frame, _garbled, doubt_first=doubt_first)


def _frame(fields: Fields[MassState], line: bytes) -> MassFrame:
    digits, exponent = fields.number or (0, 0)
    numbered = fields.state in _TERMS.numbered
    return MassFrame(
        state=fields.state,
        mass_g=scaled(digits, exponent, _SIZE_G[fields.unit]) if numbered else None,
        digits=digits,
        exponent=exponent,
        unit=fields.unit,
        line=line,
    )


def _garbled(line: bytes) -> MassFrame:
    return MassFrame(state=MassState.GARBLED, line=line)
