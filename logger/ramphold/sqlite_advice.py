"""What is wrong with a SQLite file, and what to do about it."""

import sqlite3
import stat
from pathlib import Path

from ramphold.errors import StoreError

_ADVICE = {
    sqlite3.SQLITE_BUSY: "is locked by another program: close what else writes to it",
    sqlite3.SQLITE_CANTOPEN: "can't be opened: its folder must exist and be writable",
    sqlite3.SQLITE_CORRUPT: "is damaged: set it aside and restore a copy",
    sqlite3.SQLITE_FULL: "can't grow: the disk is full, free some space",
    sqlite3.SQLITE_IOERR: "can't be read or written: the disk failed, save what it holds",
    sqlite3.SQLITE_NOTADB: "is not a database: name another file",
    sqlite3.SQLITE_READONLY: "can't be written: its owner and mode must let the {program} write",
}

_PASSING = {
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_READONLY,
}


def sqlite_code(error: sqlite3.Error) -> int:
    """The kind of an error, as in `sqlite3.SQLITE_FULL`; 0 if the error is not SQLite's own."""
    # The low byte is the kind, the rest gives details.
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def passes(error: sqlite3.Error) -> bool:
    """Whether what is wrong may be over later, without anything done to the file."""
    return sqlite_code(error) in _PASSING


def shows_damage(error: sqlite3.Error, *, was_open: bool) -> bool:
    """Whether pages are not what was written; a file that never was a database is none of ours."""
    code = sqlite_code(error)
    return code == sqlite3.SQLITE_CORRUPT or (was_open and code == sqlite3.SQLITE_NOTADB)


def sqlite_advice(
    error: sqlite3.Error, program: str, *, full: bool = False, damaged: bool = False
) -> str:
    """What is wrong and what the person must do, in words that follow the name of the file.

    Args:
        error: what SQLite says.
        program: ours, which the file is for.
        full: whether the disk is, which SQLite may call a failure of it.
        damaged: whether the file is, which SQLite may call another kind of file.
    """
    code = sqlite_code(error)
    if full and code == sqlite3.SQLITE_IOERR:
        code = sqlite3.SQLITE_FULL
    if damaged:
        code = sqlite3.SQLITE_CORRUPT
    advice = _ADVICE.get(code)
    return advice.format(program=program) if advice else f"refused this: {error}"


def check_there(path: Path) -> None:
    """Check that there may be a database to read; who opens it is told of any other trouble.

    Raises:
        StoreError: there is nothing, or a folder.
    """
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        raise StoreError(f"{path}: does not exist: expected a database") from None
    except OSError:
        return
    if stat.S_ISDIR(mode):
        raise StoreError(f"{path}: is a folder: expected a database")
