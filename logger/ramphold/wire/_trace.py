"""A run's readings as one packed trace, and as the CSV text that its hash is taken of.

Both hold every reading to its last digit. The packed form is JSON in an xz container: times as
what they are off a steady step, raw numbers as differences, so that any tool can read it and few
bytes are left of it.
"""

import hashlib
import lzma
import math
import statistics
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, groupby, pairwise

import msgspec
from msgspec import Struct

from ramphold.core import Quality, Reading
from ramphold.errors import WireError
from ramphold.units import FORCE_UNITS
from ramphold.wire._numbers import scaled

__all__ = [
    "TRACE_HEADER",
    "pack_trace",
    "printed_lbf",
    "trace_lines",
    "trace_sha256",
    "unpack_trace",
]

#: Columns of a trace's CSV text: monotonic time in ns, the digits or count as they came, force in
#: lbf (empty where there is none), and in hex the bytes of a line that could not be decoded.
TRACE_HEADER = "t_ns,raw,exponent,unit,quality,force_lbf,line"

_VERSION = 1
_MOST_BYTES = 32 * 1024 * 1024


class _Packed(Struct, frozen=True, forbid_unknown_fields=True):
    version: int
    start_ns: int
    step_ns: int
    off_ns: list[int]
    raw: list[int]
    forms: list[tuple[Quality, int, str, int]]
    force: list[float | str | None]
    lines: dict[int, bytes]


def printed_lbf(raw: int, exponent: int, unit: str, quality: Quality) -> float:
    """The force in lbf that a reading's digits say; NaN where they say none."""
    size = FORCE_UNITS.get(unit)
    if size is None or quality not in (Quality.GOOD, Quality.UNSTEADY):
        return math.nan
    return scaled(raw, exponent, size)


def trace_lines(readings: Iterable[Reading]) -> Iterator[str]:
    """The CSV text of a trace, line by line with its ends, header first."""
    yield f"{TRACE_HEADER}\n"
    for one in readings:
        force = "" if math.isnan(one.force_lbf) else repr(one.force_lbf + 0.0)
        yield (
            f"{one.t_ns},{one.raw},{one.exponent},{one.unit},{one.quality},{force},"
            f"{one.line.hex()}\n"
        )


def trace_sha256(readings: Iterable[Reading]) -> str:
    """SHA-256 in hex of a trace's CSV text: of its file, where it was exported to one."""
    return hashlib.sha256("".join(trace_lines(readings)).encode()).hexdigest()


def pack_trace(readings: Sequence[Reading]) -> bytes:
    """Pack a trace; nothing of it is lost."""
    times = [one.t_ns for one in readings]
    steps = [after - before for before, after in pairwise(times)]
    step_ns = round(statistics.median(steps)) if steps else 0
    packed = _Packed(
        version=_VERSION,
        start_ns=times[0] if times else 0,
        step_ns=step_ns,
        off_ns=[step - step_ns for step in steps],
        raw=[after - before for before, after in pairwise([0, *(one.raw for one in readings)])],
        forms=[
            (*form, len(list(same)))
            for form, same in groupby((one.quality, one.exponent, one.unit) for one in readings)
        ],
        force=[_kept_force(one) for one in readings],
        lines={number: one.line for number, one in enumerate(readings) if one.line},
    )
    return lzma.compress(msgspec.json.encode(packed))


def unpack_trace(packed: bytes) -> list[Reading]:
    """The readings of a packed trace.

    Raises:
        WireError: when it is none.
    """
    try:
        return _readings(msgspec.json.decode(_unpacked(packed), type=_Packed))
    except WireError:
        raise
    except (lzma.LZMAError, EOFError, msgspec.MsgspecError, ValueError, ArithmeticError) as error:
        raise WireError(f"not a packed trace: {error}") from None


def _unpacked(packed: bytes) -> bytes:
    unpacker = lzma.LZMADecompressor(format=lzma.FORMAT_XZ)
    text = unpacker.decompress(packed, _MOST_BYTES)
    if not unpacker.eof or unpacker.unused_data:
        raise WireError("not a packed trace: it is cut short, or too long")
    return text


def _readings(held: _Packed) -> list[Reading]:
    count = len(held.raw)
    if held.version != _VERSION:
        raise WireError(f"a trace packed by version {held.version}: expected {_VERSION}")
    if sum(form[3] for form in held.forms) != count or any(form[3] < 1 for form in held.forms):
        raise WireError(f"a trace whose forms are not those of {count} readings")
    steps = (off + held.step_ns for off in held.off_ns)
    times = accumulate(steps, initial=held.start_ns) if count else ()
    forms = [form[:3] for form in held.forms for _ in range(form[3])]
    columns = zip(times, accumulate(held.raw), forms, held.force, strict=True)
    return [
        Reading(
            t_ns=t_ns,
            force_lbf=printed_lbf(raw, exponent, unit, quality) if force is None else float(force),
            quality=quality,
            raw=raw,
            exponent=exponent,
            unit=unit,
            line=held.lines.get(number, b""),
        )
        for number, (t_ns, raw, (quality, exponent, unit), force) in enumerate(columns)
    ]


def _kept_force(one: Reading) -> float | str | None:
    """The force where its digits do not say it; as text where JSON has no number for it."""
    printed = printed_lbf(one.raw, one.exponent, one.unit, one.quality)
    if one.force_lbf == printed or (math.isnan(one.force_lbf) and math.isnan(printed)):
        return None
    return one.force_lbf if math.isfinite(one.force_lbf) else repr(one.force_lbf)
