"""A trace as bytes: packed, and as CSV text. Both keep every digit."""

import hashlib
import math
import statistics
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, chain, groupby, pairwise

import msgspec

from ramphold.core import Quality
from ramphold.core.trace import Floats, Integers, ReadingForm, Trace, floats, integers
from ramphold.errors import WireError
from ramphold.units import FORCE_UNITS
from ramphold.wire._numbers import scaled
from ramphold.wire._packed_text import VERSION, PackedText, compress, decompress, read_text

#: Columns of the CSV text: monotonic time in ns, digits or count as they came, force in lbf (empty
#: if there is none), and in hex the bytes of a line that could not be decoded.
TRACE_HEADER = "t_ns,raw,exponent,unit,quality,force_lbf,line"


def trace_lines(trace: Trace) -> Iterator[str]:
    """The CSV text of a trace, line by line with line ends, header first."""
    yield f"{TRACE_HEADER}\n"
    forms = [f"{exponent},{unit},{quality}" for quality, exponent, unit in trace.forms]
    columns = zip(trace.t_ns, trace.raw, trace.form, trace.force_lbf, strict=True)
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
    counts = (one[3] for one in held.forms)
    form = [code for code, count in zip(codes, counts, strict=True) for _ in range(count)]
    lines = {index: one for index, one in held.lines.items() if 0 <= index < len(form)}
    steps = (held.step_ns + one for one in held.off_ns)
    times = accumulate(chain((held.start_ns,), steps)) if held.raw else ()
    try:
        return trace_of(
            integers(times),
            integers(accumulate(held.raw)),
            integers(form),
            forms,
            held.force,
            lines,
        )
    except (ValueError, ArithmeticError) as error:
        raise WireError(f"not a packed trace: {error}") from None


def kept_forces(trace: Trace) -> list[float | None]:
    """Each force that the digits of its reading do not give, else None."""
    printed = _printed(trace.raw, trace.form, trace.forms)
    return [
        None if force == given or (math.isnan(force) and math.isnan(given)) else force
        for force, given in zip(trace.force_lbf, printed, strict=True)
    ]


def trace_of(  # noqa: PLR0913, PLR0917 - the columns of a trace
    t_ns: Integers,
    raw: Integers,
    form: Integers,
    forms: Iterable[ReadingForm],
    kept: Sequence[float | str | None],
    lines: dict[int, bytes],
) -> Trace:
    """The trace whose `kept_forces` are given, as numbers or as text."""
    forms = tuple(forms)
    printed = _printed(raw, form, forms)
    force_lbf = floats(
        given if one is None else float(one) for given, one in zip(printed, kept, strict=True)
    )
    return Trace(t_ns=t_ns, raw=raw, force_lbf=force_lbf, form=form, forms=forms, lines=lines)


def _printed(raw: Integers, form: Integers, forms: tuple[ReadingForm, ...]) -> Floats:
    """The force in lbf that the digits of each reading give; NaN if they give none."""
    sizes = [
        FORCE_UNITS.get(unit) if quality in (Quality.GOOD, Quality.UNSTEADY) else None
        for quality, _, unit in forms
    ]
    # The same digits come again and again while a load is held.
    known: dict[tuple[int, int], float] = {}
    for digits, code in zip(raw, form, strict=True):
        if (digits, code) not in known:
            size, exponent = sizes[code], forms[code].exponent
            known[digits, code] = math.nan if size is None else scaled(digits, exponent, size)
    return floats([known[one] for one in zip(raw, form, strict=True)])


def _text(trace: Trace) -> bytes:
    steps = [after - before for before, after in pairwise(trace.t_ns)]
    # Of two in the middle the mean, a half rounded to the even one.
    step_ns = round(statistics.median(steps)) if steps else 0
    kept = kept_forces(trace)
    return msgspec.json.encode(
        PackedText(
            version=VERSION,
            start_ns=trace.t_ns[0] if len(trace) else 0,
            step_ns=step_ns,
            off_ns=[one - step_ns for one in steps],
            raw=[after - before for before, after in pairwise(chain((0,), trace.raw))],
            forms=[(*trace.forms[code], len(list(same))) for code, same in groupby(trace.form)],
            force=[one if one is None or math.isfinite(one) else repr(one) for one in kept],
            lines=trace.lines,
        )
    )
