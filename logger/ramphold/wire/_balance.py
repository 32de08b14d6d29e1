"""Lines of a balance: the answer to a query, and what its print key sends."""

import re
from dataclasses import dataclass

from ramphold.core import MassState
from ramphold.units import MASS
from ramphold.wire._lines import LineDecoder
from ramphold.wire._numbers import scaled
from ramphold.wire._profiles import DASHES, VALUE, Profile, named

__all__ = ["MASS_PROFILES", "MassFrame", "decode_mass", "mass_decoder"]


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


_NUMBERED = frozenset({MassState.STABLE, MassState.MOVING})

_SIZE_G = {unit: MASS.sizes[unit] for unit in ("g", "mg", "kg", "lb")} | {"ct": 0.2}
_UNITS = {unit: unit for unit in _SIZE_G}
_UNIT = rb"(?P<unit>(?i:[mk]?g|lb|ct)?)"

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

MASS_PROFILES: dict[str, Profile[MassState]] = {
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
            about="print key: two-letter state, comma, perhaps a mode, padded value, unit",
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
        ),
    )
}


def decode_mass(line: bytes, profile: Profile[MassState]) -> MassFrame | None:
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


def mass_decoder(profile: str) -> LineDecoder[MassFrame]:
    """A decoder for the bytes of a balance.

    Args:
        profile: one of the names in `MASS_PROFILES`.

    Raises:
        ConfigError: when there is no such profile.
    """
    row = named(MASS_PROFILES, profile)
    return LineDecoder(lambda line: decode_mass(line, row), _garbled)


def _garbled(line: bytes) -> MassFrame:
    return MassFrame(state=MassState.GARBLED, line=line)
