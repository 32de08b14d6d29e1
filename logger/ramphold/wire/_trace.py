"""A run's readings as one packed trace, and as the CSV text that its hash is taken of.

Both hold every reading to its last digit. The packed form is JSON in an xz container: times as
what they are off a steady step, raw numbers as differences, so that any tool can read it and few
bytes are left of it.
"""

import contextlib
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
    "packed_digest",
    "packed_sha256",
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
    size = FORCE_UNITS.get(unit) if quality in (Quality.GOOD, Quality.UNSTEADY) else None
    return math.nan if size is None else scaled(raw, exponent, size)


def trace_lines(readings: Iterable[Reading]) -> Iterator[str]:
    """The CSV text of a trace, line by line with its ends, header first."""
    yield f"{TRACE_HEADER}\n"
    for one in readings:
        yield (
            f"{one.t_ns},{one.raw},{one.exponent},{one.unit},{one.quality},"
            f"{_force_text(one.force_lbf)},{one.line.hex()}\n"
        )


def trace_sha256(readings: Iterable[Reading]) -> str:
    """SHA-256 in hex of a trace's CSV text: of its file, where it was exported to one."""
    return hashlib.sha256("".join(trace_lines(readings)).encode()).hexdigest()


def pack_trace(readings: Sequence[Reading]) -> bytes:
    """Pack a trace; nothing of it is lost."""
    return lzma.compress(_packed_text(readings))


def packed_sha256(readings: Sequence[Reading]) -> str:
    """SHA-256 in hex of the text within a packed trace, as `xz -dc` gives it."""
    return hashlib.sha256(_packed_text(readings)).hexdigest()


def _packed_text(readings: Sequence[Reading]) -> bytes:
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
    return msgspec.json.encode(packed)


def unpack_trace(packed: bytes) -> list[Reading]:
    """The readings of a packed trace.

    Raises:
        WireError: when it is none.
    """
    with _trace_errors():
        return _readings(_held(_unpacked(packed)))


def packed_digest(packed: bytes) -> tuple[int, str]:
    """How many readings a packed trace has, and their `packed_sha256`; none is made for it.

    Raises:
        WireError: when it is none.
    """
    with _trace_errors():
        text = _unpacked(packed)
        held = _held(text)
    return len(held.raw), hashlib.sha256(text).hexdigest()


@contextlib.contextmanager
def _trace_errors() -> Iterator[None]:
    try:
        yield
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


def _held(text: bytes) -> _Packed:
    held = msgspec.json.decode(text, type=_Packed)
    count = len(held.raw)
    if held.version != _VERSION:
        raise WireError(f"a trace packed by version {held.version}: expected {_VERSION}")
    if sum(form[3] for form in held.forms) != count or any(form[3] < 1 for form in held.forms):
        raise WireError(f"a trace whose forms are not those of {count} readings")
    if (len(held.off_ns), len(held.force)) != (max(count - 1, 0), count):
        raise WireError(f"a trace whose times or forces are not those of {count} readings")
    return held


def _readings(held: _Packed) -> list[Reading]:
    forms = [form[:3] for form in held.forms for _ in range(form[3])]
    steps = map(held.step_ns.__add__, held.off_ns)
    times = accumulate(steps, initial=held.start_ns) if held.raw else ()
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


def _force_text(force_lbf: float) -> str:
    # Zero has one text, whatever its sign.
    return "" if force_lbf != force_lbf else repr(force_lbf + 0.0)  # noqa: PLR0124 - NaN is not itself


def _kept_force(one: Reading) -> float | str | None:
    """The force where its digits do not say it; as text where JSON has no number for it."""
    printed = printed_lbf(one.raw, one.exponent, one.unit, one.quality)
    if one.force_lbf == printed or (math.isnan(one.force_lbf) and math.isnan(printed)):
        return None
    return one.force_lbf if math.isfinite(one.force_lbf) else repr(one.force_lbf)
