"""Lines of a load indicator, sent unasked, one for each conversion."""

import re
from dataclasses import dataclass

from ramphold.core import Quality
from ramphold.wire._framed import MOVING, OVER, STILL, UNDER, FramedProfile
from ramphold.wire._lines import LineDecoder
from ramphold.wire._numbers import scaled
from ramphold.wire._profiles import DASHES, LABEL, VALUE, Profile, chosen, unit_words

__all__ = ["LOAD_PROFILES", "LoadFrame", "LoadProfile", "load_decoder", "load_profile"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadFrame:
    """What one line of a load indicator says.

    Attributes:
        quality: how far it can be believed; only good and unsteady frames carry a force.
        raw: the printed digits as an integer, 0 where there are none.
        exponent: power of ten of `raw`.
        unit: unit of the printed force, as `units.FORCE_UNITS` spells it; empty where missing.
        line: the bytes, kept only where they could not be decoded.
    """

    quality: Quality
    raw: int = 0
    exponent: int = 0
    unit: str = ""
    line: bytes = b""

    @property
    def numbered(self) -> bool:
        """Whether it carries a force."""
        return self.quality in _NUMBERED

    @property
    def readable(self) -> bool:
        """Whether the line kept to the shape."""
        return self.quality is not Quality.GARBLED

    @property
    def printed(self) -> float:
        """The printed number, in `unit`."""
        return scaled(self.raw, self.exponent)


LoadProfile = Profile[Quality]

_NUMBERED = frozenset({Quality.GOOD, Quality.UNSTEADY})

# On a load indicator a pound or a kilogram can only be a force.
_UNITS = {
    "lbf": "lbf",
    "lb": "lbf",
    "n": "N",
    "kn": "kN",
    "kgf": "kgf",
    "kg": "kgf",
}
_ANY_UNIT = rb"(?:(?i:lbf?|k?n|kgf?))"
_UNIT = rb"(?P<unit>" + _ANY_UNIT + rb"?)"
_WORDS = {
    b"OL": Quality.SATURATED,
    b"H": Quality.SATURATED,
    b"+": Quality.SATURATED,
    b"UL": Quality.UNDER_RANGE,
    b"L": Quality.UNDER_RANGE,
    b"-": Quality.UNDER_RANGE,
    b"Err": Quality.FAULT,
    DASHES: Quality.NOT_READY,
}

LOAD_PROFILES: dict[str, LoadProfile] = {
    profile.name: profile
    for profile in (
        Profile(
            name="state-comma",
            about="two-letter state, comma, perhaps a mode, sign, padded value, unit",
            pattern=re.compile(
                rb"(?P<state>ST|US|OL|UL)(?:,(?:GS|NT|TR))?," + VALUE + rb" *" + _UNIT
            ),
            states={
                b"ST": Quality.GOOD,
                b"US": Quality.UNSTEADY,
                b"OL": Quality.SATURATED,
                b"UL": Quality.UNDER_RANGE,
            },
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
        ),
        Profile(
            name="mark-while-moving",
            about="sign, padded value, unit, and perhaps a question mark while moving",
            pattern=re.compile(VALUE + rb" *" + _UNIT + rb" *(?P<state>\??)"),
            states={b"": Quality.GOOD, b"?": Quality.UNSTEADY},
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            anchored=False,
        ),
        Profile(
            name="unit-at-rest",
            about="fixed width, perhaps a label: sign, value, and a unit, blank while moving",
            pattern=re.compile(
                LABEL + rb"(?P<value>[-+][ 0-9.,]*) *(?P<state>(?P<unit>" + _ANY_UNIT + rb"?))"
            ),
            states={b"": Quality.UNSTEADY} | unit_words((*_UNITS, "kN"), Quality.GOOD),
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            widths=frozenset({14, 20}),
            needs_unit=True,
        ),
        Profile(
            name="mode-letter",
            about="mode letter, right-aligned value, unit; says nothing of rest",
            pattern=re.compile(rb"[GN] +" + VALUE + rb" *" + _UNIT),
            states={b"": Quality.GOOD},
            numbered=_NUMBERED,
            words=_WORDS,
            units=_UNITS,
            tells_rest=False,
        ),
        FramedProfile(
            name="framed",
            about="start byte, three status bytes, six digits of value, six of tare, CR",
            pattern=re.compile(rb""),
            states={
                STILL: Quality.GOOD,
                MOVING: Quality.UNSTEADY,
                OVER: Quality.SATURATED,
                UNDER: Quality.UNDER_RANGE,
            },
            numbered=_NUMBERED,
            words={},
            units=_UNITS,
            others={},
        ),
    )
}


def load_profile(profile: str, unit: str = "") -> LoadProfile:
    """The profile of a name in `LOAD_PROFILES`, with the unit of values that come without one.

    Raises:
        ConfigError: there is no such profile, or it needs a unit, or it takes none or not this.
    """
    return chosen(LOAD_PROFILES, profile, unit)


def load_decoder(profile: LoadProfile) -> LineDecoder[LoadFrame]:
    """A decoder for the bytes of a load indicator; its first line may be the tail of one."""
    return LineDecoder(
        lambda line: _decode(line, profile),
        _garbled,
        limit=profile.limit,
        doubt_first=not profile.anchored,
    )


def _decode(line: bytes, profile: LoadProfile) -> LoadFrame | None:
    """The frame that a line carries; None where the line says nothing."""
    if profile.skips(line):
        return None
    fields = profile.read(line)
    if fields is None:
        return _garbled(line)
    raw, exponent = fields.number or (0, 0)
    return LoadFrame(quality=fields.state, raw=raw, exponent=exponent, unit=fields.unit)


def _garbled(line: bytes) -> LoadFrame:
    return LoadFrame(quality=Quality.GARBLED, line=line)
