"""What was collected, as it is read; the same on either database. `_archive_writing` writes it."""

import importlib
import shlex
import sys
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, Self

import msgspec
from msgspec import Raw, Struct

from ramphold.collector._archive_database import Database
from ramphold.collector._archive_schema import migrate
from ramphold.collector._archive_sqlite import SqliteDatabase
from ramphold.errors import ConfigError, WireError
from ramphold.undecodable import UNDECODABLE
from ramphold.wire import RunMessage, RunRows

_POSTGRES = ("postgresql://", "postgres://")
_RUN = (
    "SELECT plan, started_t_ns, ended_t_ns, commands, events, assessment, trace FROM run_data "
    "WHERE series = ? AND run = ?"
)
_BENCHES = """SELECT series, bench, first_utc_ns, heard_utc_ns, filed, newest, origin, online,
    told_newest, told_waiting, state, series IN (SELECT series FROM benches_in_force) AS in_force,
    standing, against, fingerprint,
    EXISTS (SELECT 1 FROM bench_keys k WHERE k.bench = benches.bench
        AND k.fingerprint = benches.fingerprint) AS accepted, vouched,
    (SELECT count(*) FROM heads h WHERE h.series = benches.series AND h.agrees = 0) AS contradicted
    FROM benches ORDER BY bench, first_utc_ns, series"""
_QUARANTINED = """SELECT
        b.bench, coalesce(q.messages, 0) AS messages, coalesce(q.forks, 0) AS forks,
        coalesce(d.messages, 0) AS dropped, coalesce(d.bytes, 0) AS dropped_bytes,
        coalesce(q.newest_utc_ns, d.newest_utc_ns) AS newest_utc_ns,
        coalesce(q.reason, 'too many at a time') AS reason
    FROM (SELECT coalesce(bench, '') AS bench FROM quarantine
        UNION SELECT bench FROM quarantine_dropped) AS b
    LEFT JOIN quarantine_dropped d ON d.bench = b.bench
    LEFT JOIN (
        SELECT coalesce(bench, '') AS bench, newest_utc_ns, reason,
            count(*) OVER (PARTITION BY bench) AS messages,
            count(CASE WHEN code = 'fork' THEN 1 END) OVER (PARTITION BY bench) AS forks,
            row_number() OVER (PARTITION BY bench ORDER BY newest_utc_ns DESC, id DESC) AS nth
        FROM quarantine) AS q ON q.bench = b.bench AND q.nth = 1
    ORDER BY b.bench"""
_AFTER = """SELECT e.record, e.body, e.link, r.run FROM events e
    LEFT JOIN run_data r ON r.series = e.series AND r.record = e.record
    WHERE e.series = ? AND e.record > ? ORDER BY e.record LIMIT ?"""
_AT_A_TIME = 500
# A refused record is not requested: it would only be refused again.
_NUMBERS = """SELECT record FROM events WHERE series = ? UNION
    SELECT record FROM quarantine WHERE series = ? AND record IS NOT NULL ORDER BY 1"""


class BenchSeries(Struct, frozen=True, kw_only=True):
    """A series of a bench.

    Attributes:
        series, bench: its names.
        first_utc_ns, heard_utc_ns: when it was first and last heard from, by the collector's clock.
        filed, newest: number of filed records, and the greatest number among them.
        origin: link of its first record; two series with one origin are copies of one database.
        online: whether the bench's daemon is connected.
        told_newest, waiting: what the bench itself says: its newest record, and how many wait to
            be sent or for their receipt.
        state: all that it said, as JSON; null before it said anything.
        in_force: whether it is shown: it stands, or it is disputed.
        standing, against: how it stands (`_series_standing.Standing`), and because of which series.
        fingerprint: of the key that signed the newest head that agrees with what is filed.
        accepted: whether a person has accepted that key, or the one that it follows.
        vouched: how many of its first records a key vouches for that a person has accepted.
        contradicted: how many heads and receipts are over other records than those filed.
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
    waiting: int
    state: Raw
    in_force: bool
    standing: str
    against: str | None
    fingerprint: str | None
    accepted: bool
    vouched: int
    contradicted: int


class QuarantinedMessages(Struct, frozen=True, kw_only=True):
    """The messages from one bench that could not be filed.

    Attributes:
        bench: its name; None if the topic does not say.
        messages, forks: how many there are, each counted once however often it came, and how many
            of them are forks.
        dropped, dropped_bytes: how many were dropped since there were too many, and their size.
        newest_utc_ns, reason: when the newest came, by the collector's clock, and what is wrong.
    """

    bench: str | None
    messages: int
    forks: int
    dropped: int
    dropped_bytes: int
    newest_utc_ns: int
    reason: str


class Archive:
    """An open archive. It belongs to the thread that opened it.

    Every method raises StoreError if the database cannot be reached or read.
    """

    def __init__(self, database: Database) -> None:
        self.database = database
        self.name = database.name
        self.transaction = database.transaction
        self.snapshot = database.snapshot
        self.close = database.close

    def benches(self) -> list[BenchSeries]:
        """Every series of every bench, by the name of the bench, the oldest first."""
        return [
            BenchSeries(
                **row
                | {
                    "online": bool(row["online"]),
                    "in_force": bool(row["in_force"]),
                    "accepted": bool(row["accepted"]),
                    "state": Raw((row["state"] or "null").encode()),
                }
            )
            for row in self._named(BenchSeries, _BENCHES)
        ]

    def gaps(self, bench: BenchSeries) -> list[tuple[int, int]]:
        """First and last number of each gap in a series, the lowest first.

        A record that the bench has, and does not wait to send, is missing too.
        """
        told = 0 if bench.waiting else bench.told_newest
        if bench.filed == bench.newest >= told:
            return []
        numbers = [0] + [row[0] for row in self.database.rows(_NUMBERS, (bench.series,) * 2)]
        if told > numbers[-1]:
            numbers.append(told + 1)
        return [(low + 1, high - 1) for low, high in pairwise(numbers) if high - low > 1]

    def quarantined(self) -> list[QuarantinedMessages]:
        """The quarantine, by the name of the bench."""
        found = self._named(QuarantinedMessages, _QUARANTINED)
        return [QuarantinedMessages(**row | {"bench": row["bench"] or None}) for row in found]

    def bodies(self, series: str, sample: int | None) -> list[tuple[int, str, str, str]]:
        """Number, body, previous and link of each record of a sample, or of the bench itself."""
        of, values = ("sample IS NULL", ()) if sample is None else ("sample = ?", (sample,))
        return self.database.rows(
            f"SELECT record, body, previous, link FROM events WHERE series = ? AND {of} "  # noqa: S608
            "ORDER BY record",
            (series, *values),
        )

    def filed_after(self, series: str, record: int) -> Iterator[tuple[int, str, str, int | None]]:
        """Number, body and link of each record of a series after one, and its run if it has one."""
        while rows := self.database.rows(_AFTER, (series, record, _AT_A_TIME)):
            yield from rows
            record = rows[-1][0]

    def bodies_of_kinds(self, series: str, kinds: Iterable[str], after: int = 0) -> list[str]:
        """Bodies of every record of some kinds in a series, in order; of those after a number."""
        wanted = tuple(kinds)
        marks = ", ".join("?" * len(wanted))
        rows = self.database.rows(
            f"SELECT body FROM events WHERE series = ? AND kind IN ({marks}) AND record > ? "  # noqa: S608
            "ORDER BY record",
            (series, *wanted, after),
        )
        return [body for (body,) in rows]

    def run(self, series: str, run: int) -> RunMessage | None:
        """The rows and the trace of a run; None if it was not filed.

        Raises:
            WireError: they are not what was filed.
        """
        rows = self.database.rows(_RUN, (series, run))
        if not rows:
            return None
        ((plan, started_t_ns, ended_t_ns, commands, events, assessment, trace),) = rows
        try:
            return RunMessage(
                rows=RunRows(
                    plan=plan,
                    started_t_ns=started_t_ns,
                    ended_t_ns=ended_t_ns,
                    commands=msgspec.json.decode(commands, type=tuple[tuple[int, int, str], ...]),
                    events=msgspec.json.decode(events, type=tuple[tuple[int, str, str], ...]),
                    assessment=assessment or "",
                ),
                trace=trace,
            )
        except UNDECODABLE as error:
            raise WireError(f"the rows of run {run}: {error}") from None

    def _named(self, kind: type[Struct], sql: str) -> Iterator[dict[str, Any]]:
        for row in self.database.rows(sql):
            yield dict(zip(kind.__struct_fields__, row, strict=True))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def is_file(url: str) -> bool:
    """Whether an archive is a SQLite file."""
    return not url.startswith(_POSTGRES)


def open_archive(url: str, *, read_only: bool = False) -> Archive:
    """Open the archive at a PostgreSQL URL or in a SQLite file; a new one is created.

    A read-only archive must exist.

    Raises:
        ConfigError: the URL cannot be used, or its library is not installed.
        StoreError: the archive cannot be reached, or another version wrote it.
    """
    database = _opener(url)(read_only)
    try:
        migrate(database, read_only=read_only)
    except BaseException:
        database.close()
        raise
    return Archive(database)


def _opener(url: str) -> Callable[[bool], Database]:
    if is_file(url):
        return lambda read_only: SqliteDatabase(Path(url), read_only=read_only)
    try:
        module = importlib.import_module("ramphold.collector._archive_postgres")
    except ModuleNotFoundError:
        raise ConfigError(
            "archive: PostgreSQL needs psycopg: "
            f"{shlex.quote(sys.executable)} -m pip install 'psycopg[binary]'"
        ) from None
    postgres: Any = module.PostgresDatabase
    return lambda read_only: postgres(url, read_only=read_only)
