"""Writes what arrives into the archive. Every function runs inside a transaction.

Each raises StoreError if the database cannot be reached, and WireError if it refuses the values.
"""

from collections.abc import Iterable, Sequence
from enum import StrEnum
from operator import attrgetter
from typing import TypeAlias

import msgspec

from ramphold.collector._archive_database import Database, Row
from ramphold.collector._message_check import CheckedRecord
from ramphold.collector._series_standing import settle
from ramphold.sample import RunFinished, SampleReceived, kind_name
from ramphold.wire import (
    MOST_MESSAGE_BYTES,
    Envelope,
    Part,
    RunMessage,
    StateMessage,
    join,
)

# Columns of `run_data` that are fields of the record, before the times.
_run_values = attrgetter(
    "run", "specimen", "state", "verdict", "target_psi", "peak_lbf", "ramp_rate_psi_min", "held_s",
    "hold_mean_psi", "started_utc_ns", "ended_utc_ns",
)  # fmt: skip
# Link of a record and of the one before it, by series and number.
_Links: TypeAlias = dict[tuple[str, int], tuple[str, str]]


class Outcome(StrEnum):
    """What became of a record."""

    FILED = "filed"
    DUPLICATE = "duplicate"
    FORK = "fork"


def _marks(number: int) -> str:
    return ", ".join("?" * number)


_ADD_EVENT = f"INSERT INTO events VALUES ({_marks(14)}) ON CONFLICT (series, record) DO NOTHING"  # noqa: S608
_ADD_RUN = f"INSERT INTO run_data VALUES ({_marks(21)})"  # noqa: S608
_ADD_PART = (
    f"INSERT INTO parts VALUES ({_marks(7)}) "  # noqa: S608
    "ON CONFLICT (bench, event, sha256, parts, part) DO NOTHING"
)
_ADD_BENCH = (
    "INSERT INTO benches (series, bench, first_utc_ns, heard_utc_ns) VALUES (?, ?, ?, ?) "
    "ON CONFLICT (series) DO NOTHING"
)
_COUNT = """UPDATE benches SET filed = filed + ?, heard_utc_ns = ?,
    newest = CASE WHEN newest < ? THEN ? ELSE newest END, origin = coalesce(origin, ?)
    WHERE series = ?"""
# The broker repeats the last state of a bench that is long gone: that is no sign of life.
_STATE = """UPDATE benches SET online = ?, told_newest = ?, told_waiting = ?, state = ?,
    state_utc_ns = ?, heard_utc_ns = ?
    WHERE series = ? AND (state_utc_ns IS NULL OR state_utc_ns <> ?)"""


def file_records(
    database: Database, arrived: Sequence[CheckedRecord], utc_ns: int
) -> list[Outcome]:
    """File records, each once; returns what became of each."""
    if not arrived:
        return []
    owners = _owners(database, {(one.series, one.bench) for one in arrived}, utc_ns)
    # All lock rows in one order, or two collectors could wait for each other.
    order = sorted(range(len(arrived)), key=lambda n: _key(arrived[n]))
    there = _neighbours(database, arrived)
    outcomes = {}
    for number in order:
        one = arrived[number]
        own = owners[one.series] == one.bench
        outcomes[number] = _file(database, one, there, utc_ns) if own else Outcome.FORK
    filed = [one for n, one in enumerate(arrived) if outcomes[n] is Outcome.FILED]
    known = {one.series for n, one in enumerate(arrived) if outcomes[n] != Outcome.FORK}
    _mark_dirty(database, filed)
    for series in sorted(known):
        added = [one for one in filed if one.series == series]
        _count(database, series, added, utc_ns)
        settle(database, series, utc_ns, {one.number for one in added})
    return [outcomes[number] for number in range(len(arrived))]


def add_part(database: Database, bench: str, part: Part, utc_ns: int) -> bytes | None:
    """Keep a part of a message; returns the whole, once all parts are there, and drops them.

    Of one bench no more is kept than two messages may have: the oldest parts go first.

    Raises:
        WireError: the parts are all there, and are not the whole that they claim to be.
    """
    whose = (bench, part.of, part.sha256, part.parts)
    row = (bench, part.of, part.sha256, part.part, part.parts, part.content, utc_ns)
    database.write(_ADD_PART, row)
    where = "FROM parts WHERE bench = ? AND event = ? AND sha256 = ? AND parts = ?"
    ((there,),) = database.rows(f"SELECT count(*) {where}", whose)
    if there < part.parts:
        _trim_parts(database, bench)
        return None
    rows = database.rows(f"SELECT part, data {where}", whose)
    database.write(f"DELETE {where}", whose)
    return join(msgspec.structs.replace(part, part=number, content=data) for number, data in rows)


def _trim_parts(database: Database, bench: str) -> None:
    held = 0
    for event, size, utc_ns in database.rows(
        "SELECT event, sum(length(data)), max(utc_ns) FROM parts WHERE bench = ? "
        "GROUP BY event ORDER BY 3 DESC",
        (bench,),
    ):
        held += size
        if held > 2 * MOST_MESSAGE_BYTES:
            database.write(
                "DELETE FROM parts WHERE bench = ? AND event = ? AND utc_ns <= ?",
                (bench, event, utc_ns),
            )


def forget_parts(database: Database, before_utc_ns: int) -> None:
    """Drop parts that came before a time and whose whole never did."""
    database.write("DELETE FROM parts WHERE utc_ns < ?", (before_utc_ns,))


def keep_state(database: Database, envelope: Envelope, state: StateMessage, utc_ns: int) -> bool:
    """Keep the state in an envelope; whether the series belongs to the bench that sent it."""
    series = envelope.series
    if _owners(database, {(series, envelope.bench)}, utc_ns)[series] != envelope.bench:
        return False
    told = (int(state.online), state.newest, state.waiting, msgspec.json.encode(state).decode())
    database.write(_STATE, (*told, envelope.utc_ns, utc_ns, series, envelope.utc_ns))
    return True


def _key(one: CheckedRecord) -> tuple[str, int]:
    return one.series, one.number


def _neighbours(database: Database, arrived: Sequence[CheckedRecord]) -> _Links:
    """Links of those of these records, and of the ones beside them, that were filed before."""
    wanted: dict[str, set[int]] = {}
    for one in arrived:
        series, number = _key(one)
        wanted.setdefault(series, set()).update(range(number - 1, number + 2))
    return {
        (series, record): (link, before)
        for series, numbers in wanted.items()
        for record, link, before in database.rows(
            "SELECT record, link, before_link FROM events "  # noqa: S608 - our own words
            f"WHERE series = ? AND record IN ({', '.join('?' * len(numbers))})",
            (series, *numbers),
        )
    }


def _file(database: Database, one: CheckedRecord, there: _Links, utc_ns: int) -> Outcome:
    (series, number), message = _key(one), one.message
    if (series, number) in there:
        return Outcome.DUPLICATE if there[series, number][0] == message.link else Outcome.FORK
    last, following = (there.get((series, number + step)) for step in (-1, 1))
    if (last and last[0] != message.before) or (following and following[1] != message.link):
        return Outcome.FORK
    if not database.write(_ADD_EVENT, (*_event_row(one), utc_ns)):
        # Another collector was faster.
        there.update(_neighbours(database, [one]))
        return _file(database, one, there, utc_ns)
    there[series, number] = (message.link, message.before)
    if message.run is not None and isinstance(one.record, RunFinished):
        row = _run_row(one.record, message.run)
        database.write(_ADD_RUN, (series, number, *row))
    return Outcome.FILED


def _event_row(one: CheckedRecord) -> Row:
    message, record = one.message, one.record
    return (
        one.series, one.number, one.bench, kind_name(type(record)), record.sample,
        getattr(record, "specimen", None),
        record.laboratory_number if isinstance(record, SampleReceived) else None,
        record.operator, record.utc_ns, message.body, message.before, message.previous,
        message.link,
    )  # fmt: skip


def _run_row(record: RunFinished, run: RunMessage) -> Row:
    rows = run.rows
    commands, events = (msgspec.json.encode(one).decode() for one in (rows.commands, rows.events))
    return (
        *_run_values(record), rows.started_t_ns, rows.ended_t_ns, record.readings, rows.plan,
        commands, events, rows.assessment, run.trace,
    )  # fmt: skip


def _owners(database: Database, series: set[tuple[str, str]], utc_ns: int) -> dict[str, str]:
    """The bench that each series belongs to: the one that sent it first."""
    owners = {}
    for name, bench in sorted(series):
        database.write(_ADD_BENCH, (name, bench, utc_ns, utc_ns))
        ((owner,),) = database.rows("SELECT bench FROM benches WHERE series = ?", (name,))
        owners[name] = owner
    return owners


def _mark_dirty(database: Database, filed: Iterable[CheckedRecord]) -> None:
    samples = {(one.series, one.record.sample) for one in filed if one.record.sample is not None}
    for series, sample in sorted(samples):
        database.write(
            # Updated if it is there, so as to wait for whoever is working it out.
            "INSERT INTO dirty (series, sample) VALUES (?, ?) "
            "ON CONFLICT (series, sample) DO UPDATE SET sample = excluded.sample",
            (series, sample),
        )


def _count(database: Database, series: str, filed: Sequence[CheckedRecord], utc_ns: int) -> None:
    newest = max((one.number for one in filed), default=0)
    origin = next((one.message.link for one in filed if one.number == 1), None)
    database.write(_COUNT, (len(filed), utc_ns, newest, newest, origin, series))
