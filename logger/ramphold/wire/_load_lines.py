"""Lines of a load indicator, sent unasked, one for each conversion."""

from msgspec import Struct

from ramphold.core import Quality
from ramphold.wire._lines import LineDecoder
from ramphold.wire._numbers import scaled
from ramphold.wire._profiles import Fields, Profile, chosen, profile_decoder
from ramphold.wire._shared_shapes import Vocabulary, shared_profiles


class LoadFrame(Struct, frozen=True, kw_only=True, gc=False):
    """The content of one line of a load indicator.

    Attributes:
        quality: how far it can be believed; only good and unsteady frames have a force.
        raw: the printed digits as an integer, 0 if there are none.
        exponent: power of ten of `raw`.
        unit: unit of the printed force, as in `units.FORCE_UNITS`; empty if missing.
        line: the bytes, kept only if they could not be decoded.
    """

    quality: Quality
    raw: int = 0
    exponent: int = 0
    unit: str = ""
    line: bytes = b""

    @property
    def numbered(self) -> bool:
        """Whether it has a force."""
        return self.quality in _NUMBERED

    @property
    def readable(self) -> bool:
        """Whether the line had the expected shape."""
        return self.quality is not _GARBLED

    @property
    def printed(self) -> float:
        """The printed number, in `unit`."""
        return scaled(self.raw, self.exponent)


LoadProfile = Profile[Quality]

_TERMS = Vocabulary(
    rest=Quality.GOOD,
    moving=Quality.UNSTEADY,
    over=Quality.SATURATED,
    under=Quality.UNDER_RANGE,
    error=Quality.FAULT,
    dashes=Quality.NOT_READY,
    # On a load indicator a pound or a kilogram can only be a force.
    units={"lbf": "lbf", "lb": "lbf", "n": "N", "kn": "kN", "kgf": "kgf", "kg": "kgf"},
    any_unit=rb"(?:(?i:lbf?|k?n|kgf?))",
    others={},
)
_NUMBERED, _GARBLED = _TERMS.numbered, Quality.GARBLED

LOAD_PROFILES: dict[str, LoadProfile] = shared_profiles(_TERMS)


def load_profile(profile: str, unit: str = "") -> LoadProfile:
    """The profile of a name in `LOAD_PROFILES`.

    Args:
        profile: its name.
        unit: the unit of values without one.

    Raises:
        ConfigError: there is no such profile, or it needs a unit, or it takes none or not this.
    """
    return chosen(LOAD_PROFILES, profile, unit)


def load_decoder(profile: LoadProfile) -> LineDecoder[LoadFrame]:
    """A decoder of the bytes of a load indicator; the first line may be the tail of one."""
    return profile_decoder(profile, _frame, _garbled)


def _frame(fields: Fields[Quality], line: bytes) -> LoadFrame:
    del line
    raw, exponent = fields.number or (0, 0)
    return LoadFrame(quality=fields.state, raw=raw, exponent=exponent, unit=fields.unit)


def _garbled(line: bytes) -> LoadFrame:
    return LoadFrame(quality=Quality.GARBLED, line=line)
