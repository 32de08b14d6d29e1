"""The archive in one SQLite file, which several collectors on one machine may share."""

import contextlib
import os
import re
import sqlite3
from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

from ramphold.collector._archive_database import Row
from ramphold.errors import StoreError, WireError
from ramphold.sqlite_advice import check_there, sqlite_advice, sqlite_code

_PATIENCE_S = 5.0
_UTC = re.compile(r"UTC\(([\w.]+)\)")
_DEC = re.compile(r"\bDEC\(")
_FIELD = re.compile(r"\bFIELD\(([\w.]+), ([\w.]+)\)")

_UNFIT = {
    sqlite3.SQLITE_CONSTRAINT,
    sqlite3.SQLITE_MISMATCH,
    sqlite3.SQLITE_RANGE,
    sqlite3.SQLITE_TOOBIG,
}


# What SQLite says where we may not make the files that it keeps beside a database in use.
_NO_FILES_BESIDE = {sqlite3.SQLITE_READONLY_DIRECTORY, sqlite3.SQLITE_CANTOPEN}


class SqliteDatabase:
    """A file, created if it is missing and not opened read-only."""

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        self.name = str(path)
        if read_only:
            check_there(path)
        with self._errors():
            if not read_only:
                self._connection = _connect(path, "mode=rwc")
                self._connection.execute("PRAGMA journal_mode=WAL")
                self._connection.execute("PRAGMA synchronous=FULL")
                return
            try:
                self._connection = _connect(path, "mode=ro")
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode not in _NO_FILES_BESIDE or not _at_rest(path):
                    raise
                self._connection = _connect(path, "immutable=1")

    @contextlib.contextmanager
    def transaction(self) -> Iterator[None]:
        """Commit everything written inside, or nothing."""
        with self._errors():
            # For writing from the start: a lock conflict must show before anything is read.
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            finally:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")

    @contextlib.contextmanager
    def snapshot(self) -> Iterator[None]:
        """Read everything inside as of one moment."""
        with self._errors():
            self._connection.execute("BEGIN")
            try:
                yield
            finally:
                self._connection.execute("ROLLBACK")

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[Row]:
        """All rows of a query."""
        with self._errors():
            return self._connection.execute(sql, values).fetchall()

    def write(self, sql: str, values: Sequence[Any] = ()) -> int:
        """Run one statement; returns the number of changed rows."""
        with self._errors():
            return self._connection.execute(_spelt(sql), values).rowcount

    def one_at_a_time(self) -> None:
        """Do nothing: only one transaction writes at a time anyway."""

    def keep_rows(self, table: str) -> None:
        """Make the database itself refuse to change or delete rows of a table."""
        for what in ("UPDATE", "DELETE"):
            self.write(
                f"CREATE TRIGGER {table}_{what.lower()} BEFORE {what} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table}: rows are only added'); END"
            )

    def close(self) -> None:
        """Close it, even a second time."""
        self._connection.close()

    @contextlib.contextmanager
    def _errors(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            text = f"{self.name}: {sqlite_advice(error, 'collector')}"
            raise (WireError if sqlite_code(error) in _UNFIT else StoreError)(text) from error
        except (OverflowError, UnicodeEncodeError) as error:
            raise WireError(f"{self.name}: refused this: {error}") from error


def _connect(path: Path, how: str) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"file:{quote(str(path))}?{how}", uri=True, timeout=_PATIENCE_S, isolation_level=None
    )
    try:
        connection.execute("SELECT count(*) FROM sqlite_master")
    except BaseException:
        connection.close()
        raise
    return connection


def _at_rest(path: Path) -> bool:
    """Whether nobody has the database open: whoever has keeps another file beside it."""
    # Not pathlib's: that raises where a name is too long to be one.
    return os.path.exists(path) and not os.path.exists(f"{path}-wal")  # noqa: PTH110


@lru_cache
def _spelt(sql: str) -> str:
    sql = _UTC.sub(r"strftime('%Y-%m-%d %H:%M:%S', \1 / 1000000000, 'unixepoch')", sql)
    sql = _FIELD.sub(r"(\1 ->> '$.\2')", sql)
    return _DEC.sub("round(", sql)
