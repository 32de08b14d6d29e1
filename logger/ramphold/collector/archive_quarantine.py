"""Messages that could not be filed, of each bench no more than a set number and size.

The oldest are dropped first, and counted. Every function runs inside a transaction.
"""

from collections.abc import Mapping, Sequence
from dataclasses import astuple, fields

from ramphold import __version__
from ramphold.collector._archive_database import Database
from ramphold.collector._message_check import RefusedMessage, digest
from ramphold.collector.archive import Archive

#: What is kept of one bench.
MOST_MESSAGES = 200
MOST_BYTES = 8 * 1024 * 1024

_FIELDS = [one.name for one in fields(RefusedMessage)]
_ADD = (
    f"INSERT INTO quarantine (sha256, {', '.join(_FIELDS)}, utc_ns, newest_utc_ns, version) "  # noqa: S608
    f"VALUES ({', '.join('?' * (len(_FIELDS) + 4))}) "
    "ON CONFLICT (sha256) DO UPDATE SET times = quarantine.times + 1, "
    "newest_utc_ns = excluded.newest_utc_ns, poison = excluded.poison, version = excluded.version"
)
_DROPPED = (
    "INSERT INTO quarantine_dropped VALUES (?, ?, ?, ?) ON CONFLICT (bench) DO UPDATE SET "
    "messages = quarantine_dropped.messages + excluded.messages, "
    "bytes = quarantine_dropped.bytes + excluded.bytes, newest_utc_ns = excluded.newest_utc_ns"
)


def quarantine(database: Database, refused: Sequence[RefusedMessage], utc_ns: int) -> None:
    """Keep messages that cannot be filed; one that comes again is counted."""
    for one in refused:
        values = (*astuple(one)[:-1], int(one.poison))
        name = digest(one.topic, one.payload)
        database.write(_ADD, (name, *values, utc_ns, utc_ns, __version__))
    for bench in sorted({one.bench or "" for one in refused}):
        _trim(database, bench, utc_ns)


def count_dropped(archive: Archive, dropped: Mapping[str, tuple[int, int]], utc_ns: int) -> None:
    """Count messages that were dropped unread: how many of each bench, and their bytes."""
    if dropped:
        with archive.transaction():
            for bench, (messages, size) in sorted(dropped.items()):
                archive.database.write(_DROPPED, (bench, messages, size, utc_ns))


def release(database: Database, number: int) -> None:
    """Delete a message from quarantine that was filed in the same transaction."""
    database.write("DELETE FROM quarantine WHERE id = ?", (number,))


def clear(database: Database, bench: str) -> int:
    """Delete what of a bench could not be filed, and its counts; how many messages there were."""
    database.write("DELETE FROM quarantine_dropped WHERE bench = ?", (bench,))
    return database.write("DELETE FROM quarantine WHERE coalesce(bench, '') = ?", (bench,))


def known_poison(database: Database) -> list[str]:
    """Digests of the messages that this version of the program must not read again."""
    sql = "SELECT sha256 FROM quarantine WHERE poison = 1 AND version = ?"
    return [name for (name,) in database.rows(sql, (__version__,))]


def to_retry(database: Database, after: int, limit: int) -> list[tuple[int, str, bytes]]:
    """Number, topic and payload of messages to check again, after a number, in order.

    Forks are not among them, nor is poison that this version has met.
    """
    return database.rows(
        "SELECT id, topic, payload FROM quarantine WHERE id > ? AND code <> 'fork' "
        "AND NOT (poison = 1 AND version = ?) ORDER BY id LIMIT ?",
        (after, __version__, limit),
    )


def _trim(database: Database, bench: str, utc_ns: int) -> None:
    rows = database.rows(
        "SELECT id, length(payload), times FROM quarantine WHERE coalesce(bench, '') = ? "
        "ORDER BY newest_utc_ns DESC, id DESC",
        (bench,),
    )
    held = 0
    dropped = []
    for kept, (number, size, times) in enumerate(rows):
        held += size
        if kept >= MOST_MESSAGES or held > MOST_BYTES:
            database.write("DELETE FROM quarantine WHERE id = ?", (number,))
            dropped.append((times, size * times))
    if dropped:
        messages, size = (sum(column) for column in zip(*dropped, strict=True))
        database.write(_DROPPED, (bench, messages, size, utc_ns))
