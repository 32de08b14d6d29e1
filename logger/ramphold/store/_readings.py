"""The readings of a run: rows of integers, later one packed trace. Every digit comes back."""

import math
from collections.abc import Sequence
from itertools import count, repeat

from ramphold.core import Quality, Reading
from ramphold.core.trace import ReadingForm, Trace, integers
from ramphold.errors import StoreError
from ramphold.store._connection import Statements
from ramphold.wire.packed_trace import kept_forces, pack_trace, trace_of, unpack_trace

ADD_TRACE = "INSERT INTO traces (run, readings, packed) VALUES (?, ?, ?)"


def write_readings(
    connection: Statements, run: int, first_seq: int, readings: Sequence[Reading]
) -> None:
    """Add readings to a run, inside a transaction."""
    trace = Trace.of(readings)
    ids = [_form_id(connection, form) for form in trace.forms]
    kept = kept_forces(trace)
    for reading, force_lbf in zip(readings, kept, strict=True):
        if force_lbf is not None and math.isnan(force_lbf):
            # SQLite stores NaN as NULL, which would read back as the force of the digits.
            raise StoreError(
                f"a {reading.quality} reading without a force: expected one ({reading})"
            )
    connection.write_many(
        "INSERT INTO readings VALUES (?, ?, ?, ?, ?, ?)",
        zip(
            repeat(run),
            count(first_seq),
            trace.t_ns,
            trace.raw,
            [ids[one] for one in trace.form],
            kept,
            strict=False,
        ),
    )
    connection.write_many(
        "INSERT INTO reading_lines VALUES (?, ?, ?)",
        ((run, first_seq + index, line) for index, line in trace.lines.items()),
    )


def read_trace(connection: Statements, run: int) -> Trace:
    """All readings of a run, from its rows or, once it has none, from its packed trace."""
    rows = connection.rows(
        "SELECT t_ns, raw, form, force_lbf, line FROM readings "
        "LEFT JOIN reading_lines USING (run, seq) WHERE run = ? ORDER BY seq",
        (run,),
    )
    if not rows:
        # After the rows: a run that is packed meanwhile has lost them, and has this.
        for (packed,) in connection.rows("SELECT packed FROM traces WHERE run = ?", (run,)):
            return unpack_trace(packed)
        return Trace()
    t_ns, raw, form, kept, lines = zip(*rows, strict=True)
    known = connection.rows("SELECT id, quality, exponent, unit FROM reading_forms")
    forms = {number: ReadingForm(Quality(quality), *rest) for number, quality, *rest in known}
    codes: dict[int, int] = {}
    code = [codes.setdefault(one, len(codes)) for one in form]
    return trace_of(
        integers(t_ns),
        integers(raw),
        integers(code),
        [forms[number] for number in codes],
        kept,
        {index: line for index, line in enumerate(lines) if line},
    )


def pack_readings(connection: Statements, run: int) -> None:
    """Replace the rows of a run by one packed trace, inside a transaction."""
    trace = read_trace(connection, run)
    connection.write(
        ADD_TRACE,
        (run, len(trace), pack_trace(trace)),
    )
    for table in ("readings", "reading_lines"):
        connection.write(f"DELETE FROM {table} WHERE run = ?", (run,))  # noqa: S608 - ours


def _form_id(connection: Statements, form: ReadingForm) -> int:
    found = connection.rows(
        "SELECT id FROM reading_forms WHERE quality = ? AND exponent = ? AND unit = ?", form
    )
    if found:
        return int(found[0][0])
    return connection.write(
        "INSERT INTO reading_forms (quality, exponent, unit) VALUES (?, ?, ?)", form
    )
