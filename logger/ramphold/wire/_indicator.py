"""Lines of a load indicator: state, mode, number, unit."""

import re
from dataclasses import dataclass

from ramphold.core import Quality
from ramphold.wire._lines import LineDecoder
from ramphold.wire._numbers import scaled
from ramphold.wire._profiles import DASHES, VALUE, Profile, named

__all__ = ["LOAD_PROFILES", "LoadFrame", "decode_load", "load_decoder"]


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
    def printed(self) -> float:
        """The printed number, in `unit`."""
        return scaled(self.raw, self.exponent)


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

LOAD_PROFILES: dict[str, Profile[Quality]] = {
    profile.name: profile
    for profile in (
        Profile(
            name="state-comma",
            about="two-letter state, comma, perhaps a mode, sign, padded value, unit",
            pattern=re.compile(
                rb"(?P<state>ST|US|OL|UL)(?:,(?:GS|NT|TR))?,"
                + VALUE
                + rb" *(?P<unit>(?i:lbf?|k?n|kgf?)?)"
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
    )
}


def decode_load(line: bytes, profile: Profile[Quality]) -> LoadFrame | None:
    """The frame that a line carries; None where the line says nothing."""
    if profile.skips(line):
        return None
    fields = profile.read(line)
    if fields is None:
        return _garbled(line)
    raw, exponent = fields.number or (0, 0)
    return LoadFrame(quality=fields.state, raw=raw, exponent=exponent, unit=fields.unit)


def load_decoder(profile: str) -> LineDecoder[LoadFrame]:
    """A decoder for the bytes of a load indicator.

    Args:
        profile: one of the names in `LOAD_PROFILES`.

    Raises:
        ConfigError: when there is no such profile.
    """
    row = named(LOAD_PROFILES, profile)
    return LineDecoder(lambda line: decode_load(line, row), _garbled)


def _garbled(line: bytes) -> LoadFrame:
    return LoadFrame(quality=Quality.GARBLED, line=line)
