"""The open database: its settings, lock and transactions, and its errors as StoreError."""

import contextlib
import errno
import fcntl
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, BinaryIO
from urllib.parse import quote

from ramphold.errors import StoreDamaged, StoreError, StoreUnwritable, WireError
from ramphold.sqlite_advice import passes, shows_damage, sqlite_advice
from ramphold.store.free_space import free_bytes

# How long to wait for a browsing tool that has locked the file for a moment.
_PATIENCE_MS = 2000
# SQLite keeps so many KiB of pages in memory; its own choice is four times as much.
_CACHE_KIB = 512
# With less room than this the disk is full, whatever SQLite calls it.
_LEAST_BYTES = 64 * 1024

_LOCK_ADVICE = {
    errno.ENOSPC: "can't be written: the disk is full, free some space",
    errno.EROFS: "can't be written: the disk is read-only, look at it or change the card",
}

#: What the file and its write-ahead log are on their disk; None where one is missing.
_FileIds = tuple[tuple[int, int] | None, ...]


class Statements:
    """Statements of a database, inside the current transaction."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self.db = db

    def write(self, sql: str, values: Sequence[Any] = ()) -> int:
        """Run one statement inside a transaction; the new row's number."""
        return self.db.execute(sql, values).lastrowid or 0

    def write_many(self, sql: str, rows: Iterator[tuple[Any, ...]]) -> None:
        """Run one statement for each row, inside a transaction."""
        self.db.executemany(sql, rows)

    def rows(self, sql: str, values: Sequence[Any] | dict[str, Any] = ()) -> list[tuple[Any, ...]]:
        """All rows of a query."""
        return self.db.execute(sql, values).fetchall()


class StoreConnection(Statements):
    """The bench's database, owned by this process alone; others may read it meanwhile.

    It belongs to the thread that made it: SQLite refuses any other.

    Args:
        path: the file.
        read_only: open it beside its owner, and write nothing.
        alone: open it as its owner where the disk has no room for what readers share: nobody
            else can read it meanwhile, and nothing is written.

    Attributes:
        touched: whether another program has written into the file; the daemon alone should.
    """

    def __init__(self, path: Path, *, read_only: bool = False, alone: bool = False) -> None:
        self.path = path
        self._lock = None if read_only else _locked(path)
        self._opened: _FileIds | None = None
        self.touched = False
        self._written_ns: int | None = None
        try:
            with self.errors():
                if read_only:
                    self.db = _opened(path, "ro")
                    self.db.execute(f"PRAGMA busy_timeout={_PATIENCE_MS}")
                    self.db.execute(f"PRAGMA cache_size=-{_CACHE_KIB}")
                    return
                if alone:
                    self.db = _opened(path, "rw")
                    self.db.execute("PRAGMA locking_mode=EXCLUSIVE")
                    self.db.execute("PRAGMA query_only=ON")
                    return
                self.db = _opened(path, "rwc")
                self._configure()
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Close it and release its lock."""
        if hasattr(self, "db"):
            self.db.close()
        if self._lock is not None:
            self._lock.close()

    @contextlib.contextmanager
    def errors(self) -> Iterator[None]:
        """Turn an error inside into one that says which file, what is wrong, and what to do."""
        try:
            yield
        except sqlite3.Error as error:
            damaged = shows_damage(error, was_open=self._opened is not None)
            kind = StoreDamaged if damaged else StoreUnwritable if passes(error) else StoreError
            free = free_bytes(self.path)
            full = free is not None and free < _LEAST_BYTES
            advice = sqlite_advice(error, "daemon", full=full, damaged=damaged)
            raise kind(f"{self.path}: {advice}") from error
        except WireError as error:
            raise StoreError(f"{self.path}: {error}") from error
        except OverflowError as error:
            raise StoreError(f"{self.path}: expected numbers of up to 64 bits: {error}") from error

    @contextlib.contextmanager
    def transaction(self) -> Iterator[None]:
        """Commit everything that is written inside, or none of it.

        Raises:
            StoreUnwritable: the file was deleted or replaced since it was opened: what is written
                would be gone with the program.
        """
        with self._same_file(), self.errors(), self._writing(), self._atomic():
            yield

    @contextlib.contextmanager
    def _same_file(self) -> Iterator[None]:
        """What is written inside goes into the file that was opened, and into its log."""
        if self._opened is not None and _file_ids(self.path) != self._opened:
            raise StoreUnwritable(
                f"{self.path}: it or its -wal was deleted or replaced under the daemon: "
                "put it back, then restart the daemon"
            )
        yield
        if self._opened is None:
            self._opened = _file_ids(self.path)

    @contextlib.contextmanager
    def unhurried_transaction(self) -> Iterator[None]:
        """A transaction that the disk may have a moment later; a power cut may take it back whole.

        For what can be made again from the rest.
        """
        with self.errors(), self._writing():
            self.db.execute("PRAGMA synchronous=NORMAL")
            try:
                with self._atomic():
                    yield
            finally:
                self.db.execute("PRAGMA synchronous=FULL")

    @contextlib.contextmanager
    def _writing(self) -> Iterator[None]:
        """What may change the file is done inside, so that a change by others shows."""
        if self._written_ns is not None and _mtime_ns(self.path) != self._written_ns:
            self.touched = True
        try:
            yield
        finally:
            self._written_ns = _mtime_ns(self.path)

    @contextlib.contextmanager
    def _atomic(self) -> Iterator[None]:
        if self.db.in_transaction:
            yield  # what fails takes all of it back
            return
        # A transaction that began by reading would not wait for another program that writes.
        self.db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self.db.execute("COMMIT")
        except BaseException:
            self.db.rollback()
            raise

    @contextlib.contextmanager
    def snapshot(self) -> Iterator[None]:
        """Read one consistent state inside, whatever is written meanwhile."""
        with self.errors():
            self.db.execute("BEGIN")
            try:
                yield
            finally:
                self.db.execute("ROLLBACK")

    def rows(self, sql: str, values: Sequence[Any] | dict[str, Any] = ()) -> list[tuple[Any, ...]]:
        """All rows of a query."""
        with self.errors():
            return super().rows(sql, values)

    def try_to_write(self) -> None:
        """Begin a transaction and take it back, without waiting for others.

        Raises:
            StoreUnwritable: the database takes none now, or its file is gone.
        """
        with self._same_file(), self.errors():
            self.db.execute("PRAGMA busy_timeout=0")
            try:
                self.db.execute("BEGIN IMMEDIATE")
                self.db.execute("ROLLBACK")
            finally:
                self.db.execute(f"PRAGMA busy_timeout={_PATIENCE_MS}")

    def freeze(self) -> None:
        """Write nothing any more."""
        with self.errors():
            self.db.execute("PRAGMA query_only=ON")

    def shrink(self) -> None:
        """Return unused pages to the disk; not inside a transaction."""
        with self.errors(), self._writing():
            # Python steps once through a statement without rows, which would free one page.
            self.db.executescript("PRAGMA incremental_vacuum")

    def write_out(self) -> bool:
        """Write the log into the file and empty it; whether that was possible now."""
        with self.errors(), self._writing():
            self.db.execute("PRAGMA busy_timeout=0")
            try:
                ((busy, *_),) = self.db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
            finally:
                self.db.execute(f"PRAGMA busy_timeout={_PATIENCE_MS}")
        return not busy

    def _configure(self) -> None:
        self.db.execute(f"PRAGMA busy_timeout={_PATIENCE_MS}")
        # Only an empty file takes this setting; packing a trace frees pages.
        self.db.execute("PRAGMA auto_vacuum=INCREMENTAL")
        (mode,) = self.db.execute("PRAGMA journal_mode=WAL").fetchone()
        if mode != "wal":
            raise StoreError(f"{self.path}: needs a local disk: no write-ahead log there")
        self.db.execute(f"PRAGMA cache_size=-{_CACHE_KIB}")
        self.db.execute("PRAGMA synchronous=FULL")
        self.db.execute("PRAGMA foreign_keys=ON")
        # Else a row could be replaced past the rule that refuses to delete it.
        self.db.execute("PRAGMA recursive_triggers=ON")


def _opened(path: Path, mode: str) -> sqlite3.Connection:
    """Open a file, without transactions but those that are begun."""
    return sqlite3.connect(f"file:{quote(str(path))}?mode={mode}", uri=True, isolation_level=None)


def _locked(path: Path) -> BinaryIO:
    """Lock the file beside the database that marks its owner; SQLite's own locks come and go."""
    name = path.with_name(path.name + ".lock")
    try:
        lock = name.open("ab")
    except OSError as error:
        kind = StoreUnwritable if error.errno in (errno.ENOSPC, errno.EROFS) else StoreError
        advice = _LOCK_ADVICE.get(error.errno or 0, f"can't be written: {error.strerror}")
        raise kind(f"{name}: {advice}") from None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        lock.close()
        raise StoreError(f"{path}: another daemon has it open: stop that one first") from None
    return lock


def _file_ids(path: Path) -> _FileIds:
    found: list[tuple[int, int] | None] = []
    for one in (path, path.with_name(path.name + "-wal")):
        try:
            state = one.stat()
        except OSError:
            found.append(None)
        else:
            found.append((state.st_dev, state.st_ino))
    return tuple(found)


def _mtime_ns(path: Path) -> int | None:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return None
