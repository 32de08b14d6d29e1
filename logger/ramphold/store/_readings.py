"""A run's readings as rows of integers, and back to the last digit."""

import math
from collections.abc import Sequence
from typing import Any

from ramphold.core import Quality, Reading
from ramphold.errors import StoreError
from ramphold.store._connection import Connection
from ramphold.units import FORCE_UNITS
from ramphold.wire import scaled

__all__ = ["read_readings", "write_readings"]

_Form = tuple[Quality, int, str]


def write_readings(
    connection: Connection, run: int, first_seq: int, readings: Sequence[Reading]
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


def read_readings(connection: Connection, run: int) -> list[Reading]:
    """All readings of a run in order."""
    rows = connection.rows(
        "SELECT t_ns, raw, force_lbf, quality, exponent, unit, line FROM readings "
        "JOIN reading_forms ON reading_forms.id = form "
        "LEFT JOIN reading_lines USING (run, seq) WHERE run = ? ORDER BY seq",
        (run,),
    )
    return [_reading(row) for row in rows]


def _reading(row: tuple[Any, ...]) -> Reading:
    t_ns, raw, force_lbf, quality, exponent, unit, line = row
    form = (Quality(quality), exponent, unit)
    return Reading(
        t_ns=t_ns,
        force_lbf=_printed_lbf(raw, form) if force_lbf is None else force_lbf,
        quality=form[0],
        raw=raw,
        exponent=exponent,
        unit=unit,
        line=line or b"",
    )


def _form(reading: Reading) -> _Form:
    return reading.quality, reading.exponent, reading.unit


def _form_id(connection: Connection, form: _Form) -> int:
    found = connection.rows(
        "SELECT id FROM reading_forms WHERE quality = ? AND exponent = ? AND unit = ?", form
    )
    if found:
        return int(found[0][0])
    return connection.write(
        "INSERT INTO reading_forms (quality, exponent, unit) VALUES (?, ?, ?)", form
    )


def _printed_lbf(raw: int, form: _Form) -> float:
    """The force in lbf that a reading's digits say; NaN where they say none."""
    quality, exponent, unit = form
    size = FORCE_UNITS.get(unit)
    if size is None or quality not in (Quality.GOOD, Quality.UNSTEADY):
        return math.nan
    return scaled(raw, exponent, size)


def _kept_force(reading: Reading) -> float | None:
    """The force where its digits do not say it: a converter's count, a computed load."""
    printed = _printed_lbf(reading.raw, _form(reading))
    if reading.force_lbf == printed or (math.isnan(reading.force_lbf) and math.isnan(printed)):
        return None
    if math.isnan(reading.force_lbf):
        # SQLite keeps NaN as NULL, which would be read back as what the digits say.
        raise StoreError(f"a {reading.quality} reading without a force: expected one ({reading})")
    return reading.force_lbf
