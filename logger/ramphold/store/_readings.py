"""The readings of a run: rows of integers, later one packed trace. Every digit comes back."""

import math
from collections.abc import Sequence
from typing import Any

from ramphold.core import Quality, Reading
from ramphold.core.trace import Trace
from ramphold.errors import StoreError
from ramphold.store._connection import Statements
from ramphold.wire.packed_trace import pack_trace, printed_lbf, unpack_trace

__all__ = ["pack_readings", "read_trace", "write_readings"]

_Form = tuple[Quality, int, str]


def write_readings(
    connection: Statements, run: int, first_seq: int, readings: Sequence[Reading]
) -> None:
    """Add readings to a run, inside a transaction."""
    numbered = list(enumerate(readings, first_seq))
    forms = {form: _form_id(connection, form) for form in {_form(reading) for reading in readings}}
    connection.write_many(
        "INSERT INTO readings VALUES (?, ?, ?, ?, ?, ?)",
        (
            (run, seq, reading.t_ns, reading.raw, forms[_form(reading)], _kept_force(reading))
            for seq, reading in numbered
        ),
    )
    connection.write_many(
        "INSERT INTO reading_lines VALUES (?, ?, ?)",
        ((run, seq, reading.line) for seq, reading in numbered if reading.line),
    )


def read_trace(connection: Statements, run: int) -> Trace:
    """All readings of a run, from its packed trace if it has one."""
    for (packed,) in connection.rows("SELECT packed FROM traces WHERE run = ?", (run,)):
        return unpack_trace(packed)
    rows = connection.rows(
        "SELECT t_ns, raw, force_lbf, quality, exponent, unit, line FROM readings "
        "JOIN reading_forms ON reading_forms.id = form "
        "LEFT JOIN reading_lines USING (run, seq) WHERE run = ? ORDER BY seq",
        (run,),
    )
    return Trace.of(map(_reading, rows))


def pack_readings(connection: Statements, run: int) -> None:
    """Replace the rows of a run by one packed trace, inside a transaction."""
    trace = read_trace(connection, run)
    connection.write(
        "INSERT INTO traces (run, readings, packed) VALUES (?, ?, ?)",
        (run, len(trace), pack_trace(trace)),
    )
    for table in ("readings", "reading_lines"):
        connection.write(f"DELETE FROM {table} WHERE run = ?", (run,))  # noqa: S608 - ours


def _reading(row: tuple[Any, ...]) -> Reading:
    t_ns, raw, force_lbf, quality, exponent, unit, line = row
    if force_lbf is None:
        force_lbf = printed_lbf(raw, exponent, unit, Quality(quality))
    return Reading(
        t_ns=t_ns,
        force_lbf=force_lbf,
        quality=Quality(quality),
        raw=raw,
        exponent=exponent,
        unit=unit,
        line=line or b"",
    )


def _form(reading: Reading) -> _Form:
    return reading.quality, reading.exponent, reading.unit


def _form_id(connection: Statements, form: _Form) -> int:
    found = connection.rows(
        "SELECT id FROM reading_forms WHERE quality = ? AND exponent = ? AND unit = ?", form
    )
    if found:
        return int(found[0][0])
    return connection.write(
        "INSERT INTO reading_forms (quality, exponent, unit) VALUES (?, ?, ?)", form
    )


def _kept_force(reading: Reading) -> float | None:
    """The force if its digits do not give it, as with the count of a converter; else None."""
    printed = printed_lbf(reading.raw, reading.exponent, reading.unit, reading.quality)
    if reading.force_lbf == printed or (math.isnan(reading.force_lbf) and math.isnan(printed)):
        return None
    if math.isnan(reading.force_lbf):
        # SQLite stores NaN as NULL, which would read back as the force of the digits.
        raise StoreError(f"a {reading.quality} reading without a force: expected one ({reading})")
    return reading.force_lbf
