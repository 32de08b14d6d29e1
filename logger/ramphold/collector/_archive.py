"""What was collected: filed once, counted, looked up again. The same on either database."""

import contextlib
import hashlib
import importlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import astuple, dataclass, fields
from itertools import pairwise
from operator import attrgetter
from pathlib import Path
from typing import Any, Self

from ramphold.collector._archive_sqlite import SqliteDatabase
from ramphold.collector._arrivals import (
    EventArrived,
    Outcome,
    PartArrived,
    Refusal,
    RunArrived,
    StateArrived,
)
from ramphold.collector._database import Database
from ramphold.collector._schema import migrate
from ramphold.errors import ConfigError
from ramphold.wire import Part, join

__all__ = ["Archive", "Bench", "Quarantined", "open_archive"]

_EVENT = [one.name for one in fields(EventArrived) if one.name != "run"]
_EVENT_COLUMNS = ["before_link" if name == "before" else name for name in _EVENT]
_event_values = attrgetter(*_EVENT)
_RUN = [one.name for one in fields(RunArrived)]
_run_values = attrgetter(*_RUN)
_REFUSAL = [one.name for one in fields(Refusal)]
# Link of a record and of the one before it, by series and number.
_Links = dict[tuple[str, int], tuple[str, str]]
_POSTGRES = ("postgresql://", "postgres://")


def _insert(table: str, columns: Sequence[str]) -> str:
    marks = ", ".join("?" * len(columns))
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks}) "  # noqa: S608 - ours


_ADD_EVENT = (
    _insert("events", [*_EVENT_COLUMNS, "filed_utc_ns"]) + "ON CONFLICT (series, record) DO NOTHING"
)
_ADD_RUN = _insert("run_data", ["series", "record", *_RUN])
_ADD_BENCH = (
    _insert("benches", ["series", "bench", "first_utc_ns", "heard_utc_ns"])
    + "ON CONFLICT (series) DO NOTHING"
)
_ADD_PART = (
    _insert("parts", ["bench", "event", "sha256", "parts", "part", "data", "utc_ns"])
    + "ON CONFLICT (bench, event, sha256, parts, part) DO NOTHING"
)
_ADD_REFUSAL = (
    _insert("quarantine", ["sha256", *_REFUSAL, "utc_ns", "newest_utc_ns"])
    + "ON CONFLICT (sha256) DO UPDATE SET times = quarantine.times + 1, "
    "newest_utc_ns = excluded.newest_utc_ns"
)
_COUNT = """UPDATE benches SET filed = filed + ?, heard_utc_ns = ?,
    newest = CASE WHEN newest < ? THEN ? ELSE newest END, origin = coalesce(origin, ?)
    WHERE series = ?"""
# What the broker says again of a bench that is long gone is no word from it.
_STATE = """UPDATE benches SET online = ?, told_newest = ?, told_waiting = ?, state = ?,
    state_utc_ns = ?, heard_utc_ns = ?
    WHERE series = ? AND (state_utc_ns IS NULL OR state_utc_ns <> ?)"""
_BENCHES = """SELECT series, bench, first_utc_ns, heard_utc_ns, filed, newest, origin, online,
    told_newest, told_waiting, state, series IN (SELECT series FROM benches_in_force) AS in_force
    FROM benches ORDER BY bench, first_utc_ns, series"""
_QUARANTINED = """SELECT bench, messages, newest_utc_ns, reason FROM (
        SELECT bench, newest_utc_ns, reason, count(*) OVER (PARTITION BY bench) AS messages,
            row_number() OVER (PARTITION BY bench ORDER BY newest_utc_ns DESC, id DESC) AS nth
        FROM quarantine) AS numbered
    WHERE nth = 1 ORDER BY coalesce(bench, '')"""
# What was refused is not asked for again: it would only be refused again.
_NUMBERS = """SELECT record FROM events WHERE series = ? UNION
    SELECT record FROM quarantine WHERE series = ? AND record IS NOT NULL ORDER BY 1"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A series of a bench.

    Attributes:
        series, bench: whose.
        first_utc_ns, heard_utc_ns: when it was heard of first and last, by the collector's clock.
        filed, newest: how many records were filed, and the greatest number among them.
        origin: link of its first record; two series with one origin are copies of one database.
        online: whether its daemon is there.
        told_newest, told_waiting: what the bench itself says: its newest record, and how many wait
            to be sent or for their receipt.
        state: what else it told, as JSON; None before it told anything.
        in_force: whether no newer series has taken its place.
    """

    series: str
    bench: str
    first_utc_ns: int
    heard_utc_ns: int
    filed: int
    newest: int
    origin: str | None
    online: bool
    told_newest: int
    told_waiting: int
    state: str | None
    in_force: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Quarantined:
    """What came from a bench and could not be filed.

    Attributes:
        bench: whose; None where its topic doesn't say.
        messages: how many are kept, each counted once however often it came.
        newest_utc_ns, reason: when the newest came, by the collector's clock, and what is wrong.
    """

    bench: str | None
    messages: int
    newest_utc_ns: int
    reason: str


class Archive:
    """An open archive. It belongs to the thread that opened it.

    Every method raises StoreError where the database can't be reached, read or grown, and
    WireError where it refuses the values. What is written inside `transaction` is committed
    together.
    """

    def __init__(self, database: Database) -> None:
        self.database = database
        self.name = database.name

    def transaction(self) -> contextlib.AbstractContextManager[None]:
        """Commit all that is written inside, or nothing of it."""
        return self.database.transaction()

    def snapshot(self) -> contextlib.AbstractContextManager[None]:
        """Read all inside as it stands at one moment."""
        return self.database.snapshot()

    # --- what arrives, inside a transaction ------------------------------------------------------

    def file(self, arrived: Sequence[EventArrived], utc_ns: int) -> list[Outcome]:
        """File records, each once; what became of each."""
        if not arrived:
            return []
        owners = self._owners({(one.series, one.bench) for one in arrived}, utc_ns)
        # Everybody locks rows in one order, or two collectors could wait for each other.
        order = sorted(range(len(arrived)), key=lambda n: (arrived[n].series, arrived[n].record))
        there = self._neighbours(arrived)
        outcomes = {}
        for number in order:
            one = arrived[number]
            own = owners[one.series] == one.bench
            outcomes[number] = self._file(one, there, utc_ns) if own else Outcome.FORK
        filed = [one for n, one in enumerate(arrived) if outcomes[n] is Outcome.FILED]
        known = [one for n, one in enumerate(arrived) if outcomes[n] is not Outcome.FORK]
        self._mark_dirty(filed)
        self._count(filed, known, utc_ns)
        return [outcomes[number] for number in range(len(arrived))]

    def add_part(self, part: PartArrived, utc_ns: int) -> bytes | None:
        """Keep a part; the whole, once all parts are there, and its parts go.

        Raises:
            WireError: the parts are all there, and are not the whole that they say.
        """
        whose = (part.bench, part.event, part.sha256, part.parts)
        self.database.write(_ADD_PART, (*whose, part.part, part.data, utc_ns))
        where = "FROM parts WHERE bench = ? AND event = ? AND sha256 = ? AND parts = ?"
        ((there,),) = self.database.rows(f"SELECT count(*) {where}", whose)
        if there < part.parts:
            return None
        rows = self.database.rows(f"SELECT part, data {where}", whose)
        self.database.write(f"DELETE {where}", whose)
        return join(
            Part(of=part.event, part=number, parts=part.parts, sha256=part.sha256, content=data)
            for number, data in rows
        )

    def forget_parts(self, before_utc_ns: int) -> None:
        """Drop parts that came before a time, whose whole never did."""
        self.database.write("DELETE FROM parts WHERE utc_ns < ?", (before_utc_ns,))

    def keep_state(self, state: StateArrived, utc_ns: int) -> bool:
        """Keep how a bench is; whether the series is that bench's."""
        owners = self._owners({(state.series, state.bench)}, utc_ns)
        if owners[state.series] != state.bench:
            return False
        told = (int(state.online), state.newest, state.waiting, state.body)
        self.database.write(_STATE, (*told, state.utc_ns, utc_ns, state.series, state.utc_ns))
        return True

    def quarantine(self, refusal: Refusal, utc_ns: int) -> None:
        """Keep a message that can't be filed; one that comes again is counted."""
        digest = hashlib.sha256(refusal.topic.encode() + b"\0" + refusal.payload).hexdigest()
        self.database.write(_ADD_REFUSAL, (digest, *astuple(refusal), utc_ns, utc_ns))

    def release(self, number: int) -> None:
        """Let a message out of quarantine, which was filed in the same transaction."""
        self.database.write("DELETE FROM quarantine WHERE id = ?", (number,))

    # --- what is there ---------------------------------------------------------------------------

    def benches(self) -> list[Bench]:
        """Every series of every bench, by the bench's name, the oldest first."""
        names = [one.name for one in fields(Bench)]
        rows = [dict(zip(names, row, strict=True)) for row in self.database.rows(_BENCHES)]
        truths = ("online", "in_force")
        return [Bench(**row | {name: bool(row[name]) for name in truths}) for row in rows]

    def gaps(self, bench: Bench) -> list[tuple[int, int]]:
        """First and last number of each gap in a series, the lowest first.

        What the bench says that it has and does not wait to send is missing, too.
        """
        told = 0 if bench.told_waiting else bench.told_newest
        if bench.filed == bench.newest >= told:
            return []
        numbers = [0] + [row[0] for row in self.database.rows(_NUMBERS, (bench.series,) * 2)]
        if told > numbers[-1]:
            numbers.append(told + 1)
        return [(low + 1, high - 1) for low, high in pairwise(numbers) if high - low > 1]

    def quarantined(self) -> list[Quarantined]:
        """What is in quarantine of each bench, by its name."""
        names = [one.name for one in fields(Quarantined)]
        rows = self.database.rows(_QUARANTINED)
        return [Quarantined(**dict(zip(names, row, strict=True))) for row in rows]

    def refused(self, after: int, limit: int) -> list[int]:
        """Numbers of messages in quarantine that are no forks, in order, those after a number."""
        rows = self.database.rows(
            "SELECT id FROM quarantine WHERE id > ? AND code <> 'fork' ORDER BY id LIMIT ?",
            (after, limit),
        )
        return [number for (number,) in rows]

    def refused_message(self, number: int) -> tuple[str, bytes] | None:
        """Topic and bytes of a message in quarantine; None where it is there no more."""
        rows = self.database.rows("SELECT topic, payload FROM quarantine WHERE id = ?", (number,))
        return rows[0] if rows else None

    def bodies(self, series: str, sample: int | None) -> list[tuple[int, str, str, str]]:
        """Number, body, previous and link of each record of a sample, or of the bench itself."""
        of, values = ("sample IS NULL", ()) if sample is None else ("sample = ?", (sample,))
        return self.database.rows(
            f"SELECT record, body, previous, link FROM events WHERE series = ? AND {of} "  # noqa: S608
            "ORDER BY record",
            (series, *values),
        )

    def bodies_of_kinds(self, series: str, kinds: Iterable[str]) -> list[str]:
        """Bodies of every record of some kinds in a series, in order."""
        wanted = tuple(kinds)
        marks = ", ".join("?" * len(wanted))
        rows = self.database.rows(
            f"SELECT body FROM events WHERE series = ? AND kind IN ({marks}) ORDER BY record",  # noqa: S608
            (series, *wanted),
        )
        return [body for (body,) in rows]

    def run(self, series: str, run: int) -> RunArrived | None:
        """What was filed of a run."""
        columns = ", ".join(_RUN)
        rows = self.database.rows(
            f"SELECT {columns} FROM run_data WHERE series = ? AND run = ?",  # noqa: S608 - ours
            (series, run),
        )
        return RunArrived(**dict(zip(_RUN, rows[0], strict=True))) if rows else None

    def close(self) -> None:
        """Close it."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _neighbours(self, arrived: Sequence[EventArrived]) -> _Links:
        """Own link and the link before of what is there of these records and of those beside."""
        wanted: dict[str, set[int]] = {}
        for one in arrived:
            wanted.setdefault(one.series, set()).update(range(one.record - 1, one.record + 2))
        return {
            (series, record): (link, before)
            for series, numbers in wanted.items()
            for record, link, before in self.database.rows(
                "SELECT record, link, before_link FROM events "  # noqa: S608 - our own words
                f"WHERE series = ? AND record IN ({', '.join('?' * len(numbers))})",
                (series, *numbers),
            )
        }

    def _file(self, one: EventArrived, there: _Links, utc_ns: int) -> Outcome:
        key = (one.series, one.record)
        if key in there:
            return Outcome.DUPLICATE if there[key][0] == one.link else Outcome.FORK
        last, following = (there.get((one.series, one.record + step)) for step in (-1, 1))
        if (last and last[0] != one.before) or (following and following[1] != one.link):
            return Outcome.FORK
        if not self.database.write(_ADD_EVENT, (*_event_values(one), utc_ns)):
            # Another collector was faster, since we looked.
            there.update(self._neighbours([one]))
            return self._file(one, there, utc_ns)
        there[key] = (one.link, one.before)
        if one.run is not None:
            self.database.write(_ADD_RUN, (one.series, one.record, *_run_values(one.run)))
        return Outcome.FILED

    def _owners(self, series: set[tuple[str, str]], utc_ns: int) -> dict[str, str]:
        """Which bench each series belongs to: the one that it was first heard from."""
        owners = {}
        for name, bench in sorted(series):
            self.database.write(_ADD_BENCH, (name, bench, utc_ns, utc_ns))
            ((owner,),) = self.database.rows("SELECT bench FROM benches WHERE series = ?", (name,))
            owners[name] = owner
        return owners

    def _mark_dirty(self, filed: Iterable[EventArrived]) -> None:
        samples = {(one.series, one.sample) for one in filed if one.sample is not None}
        for series, sample in sorted(samples):
            self.database.write(
                # Written anew where it is there, so as to wait for whoever is working it out.
                "INSERT INTO dirty (series, sample) VALUES (?, ?) "
                "ON CONFLICT (series, sample) DO UPDATE SET sample = excluded.sample",
                (series, sample),
            )

    def _count(
        self, filed: Sequence[EventArrived], known: Sequence[EventArrived], utc_ns: int
    ) -> None:
        for series in sorted({one.series for one in known}):
            new = [one for one in filed if one.series == series]
            newest = max((one.record for one in new), default=0)
            origin = next((one.link for one in new if one.record == 1), None)
            self.database.write(_COUNT, (len(new), utc_ns, newest, newest, origin, series))


def open_archive(url: str, *, read_only: bool = False) -> Archive:
    """Open the archive that a URL of PostgreSQL or the path of a SQLite file names.

    It is made where there is none, and brought up to date, unless it is to be read only.

    Raises:
        ConfigError: the URL can't be used, or its library is not installed.
        StoreError: it can't be reached, or another version wrote it.
    """
    database = _opener(url)(read_only)
    try:
        migrate(database, read_only=read_only)
    except BaseException:
        database.close()
        raise
    return Archive(database)


def _opener(url: str) -> Callable[[bool], Database]:
    if not url.startswith(_POSTGRES):
        return lambda read_only: SqliteDatabase(Path(url), read_only=read_only)
    try:
        module = importlib.import_module("ramphold.collector._archive_postgres")
    except ModuleNotFoundError:
        raise ConfigError(
            "archive: PostgreSQL needs psycopg: pip install 'ramphold[postgres]'"
        ) from None
    postgres: Any = module.PostgresDatabase
    return lambda read_only: postgres(url, read_only=read_only)
