"""A trace as bytes: packed, and as CSV text. Both keep every digit.

Not imported by the package itself, so that numpy loads only where it is used.
"""

import hashlib
import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from ramphold.core import Quality
from ramphold.core.trace import Floats, Integers, ReadingForm, Trace
from ramphold.errors import WireError
from ramphold.units import FORCE_UNITS
from ramphold.wire._numbers import MOST_DIGITS, scaled
from ramphold.wire._packed_text import VERSION, PackedText, compress, decompress, read_text

#: Columns of the CSV text: monotonic time in ns, digits or count as they came, force in lbf (empty
#: if there is none), and in hex the bytes of a line that could not be decoded.
TRACE_HEADER = "t_ns,raw,exponent,unit,quality,force_lbf,line"

# Differences of integers within this, and differences of those, fit 64 bits.
_ROOM = 2**60
# A float holds every integer up to this.
_WHOLE = 2**53


def trace_lines(trace: Trace) -> Iterator[str]:
    """The CSV text of a trace, line by line with line ends, header first."""
    yield f"{TRACE_HEADER}\n"
    forms = [f"{exponent},{unit},{quality}" for quality, exponent, unit in trace.forms]
    columns = zip(
        trace.t_ns.tolist(),
        trace.raw.tolist(),
        trace.form.tolist(),
        trace.force_lbf.tolist(),
        strict=True,
    )
    for index, (t_ns, raw, form, force_lbf) in enumerate(columns):
        # Zero has one text whatever its sign.
        force = "" if math.isnan(force_lbf) else repr(force_lbf + 0.0)
        line = trace.lines.get(index, b"").hex()
        yield f"{t_ns},{raw},{forms[form]},{force},{line}\n"


def trace_sha256(trace: Trace) -> str:
    """SHA-256 in hex of the CSV text of a trace, and so of its exported file."""
    return hashlib.sha256("".join(trace_lines(trace)).encode()).hexdigest()


def pack_trace(trace: Trace) -> bytes:
    """Pack a trace without loss."""
    return compress(_text(trace))


def packed_sha256(trace: Trace) -> str:
    """SHA-256 in hex of the text inside the packed trace, as `gzip -dc` prints it."""
    return hashlib.sha256(_text(trace)).hexdigest()


def unpack_trace(packed: bytes) -> Trace:
    """Unpack a trace.

    Raises:
        WireError: it is no packed trace, or has a time or digits beyond 64 bits.
    """
    held = read_text(decompress(packed))
    forms: dict[ReadingForm, int] = {}
    codes = [forms.setdefault(ReadingForm(*one[:3]), len(forms)) for one in held.forms]
    counts = np.array([one[3] for one in held.forms], np.int64)
    form = np.repeat(np.array(codes, np.int32), counts)
    try:
        lines = {index: one for index, one in held.lines.items() if 0 <= index < len(form)}
        return trace_of(_times(held), _sums(held.raw), form, forms, held.force, lines)
    except (ValueError, ArithmeticError) as error:
        raise WireError(f"not a packed trace: {error}") from None


def kept_forces(trace: Trace) -> list[float | None]:
    """Each force that the digits of its reading do not give, else None."""
    force = trace.force_lbf
    printed = _printed(trace.raw, trace.form, trace.forms)
    kept: list[float | None] = [None] * len(trace)
    for index in np.flatnonzero((force != printed) & ~(np.isnan(force) & np.isnan(printed))):
        kept[index] = float(force[index])
    return kept


def trace_of(  # noqa: PLR0913, PLR0917 - the columns of a trace
    t_ns: Integers,
    raw: Integers,
    form: NDArray[np.int32],
    forms: Iterable[ReadingForm],
    kept: Sequence[float | str | None],
    lines: dict[int, bytes],
) -> Trace:
    """The trace whose `kept_forces` are given, as numbers or as text."""
    forms = tuple(forms)
    force_lbf = _printed(raw, form, forms)
    if kept.count(None) < len(kept):
        said = np.array([one is None for one in kept])
        force_lbf = np.where(said, force_lbf, np.array(kept, np.float64))
    return Trace(t_ns=t_ns, raw=raw, force_lbf=force_lbf, form=form, forms=forms, lines=lines)


def _printed(raw: Integers, form: NDArray[np.int32], forms: tuple[ReadingForm, ...]) -> Floats:
    """The force in lbf that the digits of each reading give; NaN if they give none."""
    printed = np.full(len(raw), math.nan)
    order = np.argsort(form, kind="stable")
    ends = np.cumsum(np.bincount(form, minlength=len(forms)))
    for (quality, exponent, unit), of in zip(forms, np.split(order, ends[:-1]), strict=False):
        size = FORCE_UNITS.get(unit) if quality in (Quality.GOOD, Quality.UNSTEADY) else None
        if size is not None:
            printed[of] = _scaled(raw[of], exponent, size)
    return printed


def _scaled(raw: Integers, exponent: int, size: float) -> Floats:
    """`scaled` of each number."""
    if size == 1.0 and -MOST_DIGITS <= exponent <= 0 and _within(raw, _WHOLE):
        # The quotient of two whole floats is correctly rounded.
        return raw / 10.0**-exponent
    numbers, places = np.unique(raw, return_inverse=True)
    return np.array([scaled(one, exponent, size) for one in numbers.tolist()])[places]


def _text(trace: Trace) -> bytes:
    kept = kept_forces(trace)
    steps = np.diff(_roomy(trace.t_ns))
    step_ns = _median(steps)
    ends = [*(np.flatnonzero(np.diff(trace.form)) + 1).tolist(), len(trace)]
    rows = pairwise([0, *ends]) if len(trace) else ()
    return msgspec.json.encode(
        PackedText(
            version=VERSION,
            start_ns=int(trace.t_ns[0]) if len(trace) else 0,
            step_ns=step_ns,
            off_ns=(steps - step_ns).tolist(),
            raw=np.diff(_roomy(trace.raw), prepend=0).tolist(),
            forms=[(*trace.forms[trace.form[start]], end - start) for start, end in rows],
            force=[one if one is None or math.isfinite(one) else repr(one) for one in kept],
            lines=trace.lines,
        )
    )


def _times(held: PackedText) -> Integers:
    if not held.raw:
        return np.empty(0, np.int64)
    off = _column(held.off_ns)
    bound = _ROOM // max(len(off), 1)
    if not (_within(off, bound) and abs(held.step_ns) < bound and abs(held.start_ns) < _ROOM):
        off = off.astype(object)
    steps = np.concatenate(([held.start_ns], off + held.step_ns))
    return np.cumsum(steps).astype(np.int64)


def _sums(steps: list[int]) -> Integers:
    """Running sums.

    Raises:
        OverflowError: one of them needs more than 64 bits.
    """
    column = _column(steps)
    if not _within(column, _ROOM // max(len(column), 1)):
        column = column.astype(object)
    return np.cumsum(column).astype(np.int64)


# If an intermediate result might need more than 64 bits, numpy calculates with Python integers.


def _column(numbers: list[int]) -> NDArray[Any]:
    try:
        return np.array(numbers, np.int64)
    except OverflowError:
        return np.array(numbers, object)


def _roomy(column: Integers) -> NDArray[Any]:
    return column if _within(column, _ROOM) else column.astype(object)


def _within(column: NDArray[Any], most: int) -> bool:
    return not column.size or (-most <= column.min() and column.max() <= most)


def _median(steps: NDArray[Any]) -> int:
    """The median of whole numbers, a half rounded to the even one."""
    if not steps.size:
        return 0
    ranked, middle = np.sort(steps), steps.size // 2
    if steps.size % 2:
        return int(ranked[middle])
    return round((int(ranked[middle - 1]) + int(ranked[middle])) / 2)
