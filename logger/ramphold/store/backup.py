"""Copies a bench's database beside the running daemon, and puts a copy back in its place."""

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

from ramphold.errors import InputError, StoreError
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.whole_file import name_once
from ramphold.sqlite_advice import sqlite_advice
from ramphold.store._connection import StoreConnection
from ramphold.store._schema_made import check_version

# What SQLite keeps beside a file, and writes into whatever has the file's name later.
_BESIDE = ("-journal", "-wal", "-shm")


def copy_database(source: Path, target: Path) -> None:
    """Copy a database into a new file by SQLite's backup, and check the copy.

    Whatever a daemon writes meanwhile, the copy is the state of one moment, in one file. The folder
    of keys beside the database is copied first, so that no signed head is newer than the copy.

    Raises:
        InputError: the new file is there already.
        StoreError: the database cannot be read, the copy cannot be written, or is not whole.
    """
    part = _new_part(target)
    try:
        keys = KeyFolder.beside(source).path
        if keys.is_dir():
            _copy_keys(keys, KeyFolder.beside(part).path)
        with (
            _errors(source),
            contextlib.closing(_opened(source, "ro")) as from_,
            contextlib.closing(_opened(part, "rwc")) as to,
        ):
            from_.backup(to)
            # A copy is one file, and needs no log beside it.
            to.execute("PRAGMA journal_mode=DELETE")
        check_whole(part)
        _keep(part, target)
    except BaseException:
        remove_database(part)
        raise


def check_whole(path: Path) -> None:
    """Check that a file is the whole database of a bench, by SQLite's own check.

    Raises:
        StoreError: it is damaged, is none, or another version wrote it.
    """
    with _errors(path), contextlib.closing(_opened(path, "ro")) as copy:
        found = [str(text) for (text,) in copy.execute("PRAGMA integrity_check(5)")]
        found += [
            f"row {row} of {table}" for table, row, *_ in copy.execute("PRAGMA foreign_key_check")
        ]
    if found != ["ok"]:
        raise StoreError(f"{path}: is damaged: {'; '.join(found)[:200]}")
    connection = StoreConnection(path, read_only=True)
    try:
        check_version(connection)
    finally:
        connection.close()


@contextlib.contextmanager
def new_database(target: Path) -> Iterator[Path]:
    """A path for a database in the making, which gets its name if the block succeeds.

    Keys that lie beside it get their place too, unless there are some.

    Raises:
        InputError: the database is there already, or a log of it.
        StoreError: it cannot be written.
    """
    there = [one for one in (target, *_beside(target)) if one.exists()]
    if there:
        keys = KeyFolder.beside(target).path
        names = ", ".join(one.name for one in (*there, keys) if one.exists())
        raise InputError(f"{there[0]}: is there already: first move away {names}")
    part = target.with_name(f".{target.name}.restored")
    remove_database(part)
    try:
        yield part
        _keep(part, target)
        target.chmod(0o640)
    finally:
        remove_database(part)


def note_backup(source: Path, utc_ns: int) -> None:
    """Note beside a database when the newest copy of it was made.

    Raises:
        StoreError: that can't be written.
    """
    note = _note_of(source)
    with _errors(note):
        part = note.with_name(f".{note.name}.part")
        part.write_text(f"{utc_ns}\n", encoding="ascii")
        part.rename(note)


def newest_backup(source: Path) -> int | None:
    """When the newest copy of a database was made, UTC in ns; None where none is noted."""
    try:
        return int(_note_of(source).read_text(encoding="ascii"))
    except (OSError, ValueError):
        return None


def _note_of(source: Path) -> Path:
    return source.with_name(f"{source.name}.copied")


def backups_of(folder: Path, bench: str, newest: Path) -> list[Path]:
    """The copies of a bench's database in a folder, the oldest first, `newest` last.

    What has a later date than the newest was made while the calendar was wrong, then or now, and
    is taken for the oldest.
    """
    found = folder.glob(f"{bench}-[0-9]*T[0-9]*Z.sqlite3")
    return sorted(found, key=lambda one: (one.name <= newest.name, one.name))


def _new_part(target: Path) -> Path:
    if target.exists():
        raise InputError(f"{target}: is there already: move it away first")
    part = target.with_name(f".{target.name}.part")
    with _errors(target):
        remove_database(part)
        target.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    return part


def _keep(part: Path, target: Path) -> None:
    """Give a finished copy its name, which no other file may have."""
    with _errors(target):
        with part.open("rb") as file:
            os.fsync(file.fileno())
        keys = KeyFolder.beside(part).path
        if keys.is_dir():
            if KeyFolder.beside(target).path.is_dir():
                shutil.rmtree(keys)
            else:
                keys.rename(KeyFolder.beside(target).path)
        name_once(part, target)
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _copy_keys(source: Path, target: Path) -> None:
    """Copy a folder of keys; nobody but its owner may read a private one."""
    try:
        target.mkdir(mode=0o700)
        for path in sorted(source.iterdir()):
            if path.is_dir():
                _copy_keys(path, target / path.name)
            elif not path.name.endswith(".part"):
                made = os.open(target / path.name, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
                with os.fdopen(made, "wb") as file:
                    file.write(path.read_bytes())
    except OSError as error:
        raise StoreError(f"{error.filename}: the keys can't be copied: {error.strerror}") from None


def remove_database(path: Path) -> None:
    """Remove a database with its keys and what SQLite keeps beside it."""
    for one in (path, *_beside(path), path.with_name(f"{path.name}.lock")):
        one.unlink(missing_ok=True)
    shutil.rmtree(KeyFolder.beside(path).path, ignore_errors=True)


def _beside(path: Path) -> list[Path]:
    return [path.with_name(f"{path.name}{end}") for end in _BESIDE]


def _opened(path: Path, mode: str) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{quote(str(path))}?mode={mode}", uri=True, timeout=5)


@contextlib.contextmanager
def _errors(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        raise StoreError(f"{path}: {sqlite_advice(error, 'daemon')}") from error
    except FileExistsError:
        raise InputError(f"{path}: is there already: move it away first") from None
    except OSError as error:
        if isinstance(error, StoreError):
            raise
        raise StoreError(f"{path}: can't be written: {error.strerror}") from None
