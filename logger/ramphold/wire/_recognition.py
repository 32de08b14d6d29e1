"""Recognizes an instrument by its bytes: which shapes its lines may have, in which framing.

The decoders of the profiles do it: a shape fits if they read every line but a cut first one.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, NamedTuple

from ramphold.wire._balance_lines import MASS_PROFILES, MassProfile, mass_decoder
from ramphold.wire._lines import LineSplitter
from ramphold.wire._load_lines import LOAD_PROFILES, LoadProfile, load_decoder
from ramphold.wire._numbers import scaled
from ramphold.wire._profiles import Profile
from ramphold.wire._seven_bits import seven_bit_framing

_DATA_BITS = 0x7F
#: As many lines with a value an instrument that sends unasked must have sent.
LEAST_LINES = 3

InstrumentKind = Literal["load", "balance"]
# Stands for the unit of values without one until a person says it.
_ANY_UNIT = {"load": "lbf", "balance": "g"}


class _Value(NamedTuple):
    """A line's value, whatever the instrument."""

    readable: bool
    numbered: bool
    digits: int
    exponent: int
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShape:
    """A shape that all lines have.

    Attributes:
        kind: what the instrument then is.
        profile: name of the shape.
        framing: data bits, parity and stop bits.
        units: the units that its values have; of a shape whose lines may lack it, as far as seen.
        needs_unit: whether the configuration must say the unit of values without one.
        values: how many lines had a value.
        newest: the newest value as printed, with its unit.
        line: the bytes of the newest line.
    """

    kind: InstrumentKind
    profile: str
    framing: str
    units: tuple[str, ...]
    needs_unit: bool
    values: int
    newest: str
    line: bytes


def recognise(data: bytes, *, least: int = LEAST_LINES) -> tuple[LineShape, ...]:
    """Every shape that the bytes of an instrument fit, read as 8N1; none if they are noise.

    Args:
        data: what it sent, from anywhere in a line to anywhere in a line.
        least: fewest lines with a value; 1 for the answer to a query.
    """
    framing = "8N1"
    if (seven := seven_bit_framing(data)) is not None:
        framing, data = seven, bytes(byte & _DATA_BITS for byte in data)
    lines = [line.data for line in LineSplitter().feed(data)]
    if not lines:
        return ()
    return tuple(_shapes(data, lines, framing, least))


def _shapes(data: bytes, lines: Sequence[bytes], framing: str, least: int) -> Iterator[LineShape]:
    for kind, profiles in _TABLES.items():
        for profile in profiles.values():
            units = sorted({one.unit for one in map(profile.read, lines) if one and one.unit})
            needs_unit = profile.needs_unit
            unit = (units[0] if units else _ANY_UNIT[kind]) if needs_unit else ""
            frames = _DECODED[kind](replace(profile, bare_unit=unit), data)
            values = [frame for frame in frames if frame.numbered]
            # The first line may be the tail of one.
            readable = all(frame.readable for frame in frames[1:])
            # A net weight comes among other lines, never alone.
            with_others = profile.alone or any(map(profile.skips, lines))
            if readable and with_others and len(values) >= least:
                yield LineShape(
                    kind=kind,
                    profile=profile.name,
                    framing=framing,
                    units=tuple(units),
                    needs_unit=needs_unit,
                    values=len(values),
                    newest=_text(values[-1], known=bool(units) or not needs_unit),
                    line=lines[-1],
                )


def _decoded_load(profile: LoadProfile, data: bytes) -> Sequence[_Value]:
    return [
        _Value(one.readable, one.numbered, one.raw, one.exponent, one.unit)
        for one in load_decoder(profile).feed(data)
    ]


def _decoded_mass(profile: MassProfile, data: bytes) -> Sequence[_Value]:
    return [
        _Value(one.readable, one.mass_g is not None, one.digits, one.exponent, one.unit)
        for one in mass_decoder(profile, doubt_first=False).feed(data)
    ]


def _text(value: _Value, *, known: bool) -> str:
    number = f"{scaled(value.digits, value.exponent):.10g}"
    return f"{number} {value.unit}" if known else number


_TABLES: Mapping[InstrumentKind, Mapping[str, Profile[Any]]] = {
    "load": LOAD_PROFILES,
    "balance": MASS_PROFILES,
}
_DECODED: Mapping[InstrumentKind, Callable[[Any, bytes], Sequence[_Value]]] = {
    "load": _decoded_load,
    "balance": _decoded_mass,
}
