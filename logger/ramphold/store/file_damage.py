"""Whether a database's file is still what was written into it, looked at in small steps.

Each look has a connection of its own, since that of the daemon has pages in memory which it does
not read again. Between two steps no transaction is open, so the daemon is not held up.
"""

import contextlib
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import TypeAlias

from ramphold.core import Event, Reading
from ramphold.errors import StoreDamaged, StoreError, StoreUnwritable
from ramphold.sample import Record, RunFinished, kind_name
from ramphold.store._audit import RUN_FIELDS
from ramphold.store._readings import read_trace
from ramphold.store._run_finished import run_rows
from ramphold.store._run_store import GivenCommand
from ramphold.store._store import Store
from ramphold.wire import decode_body, link
from ramphold.wire.packed_trace import trace_sha256

#: Readings, commands and events of a run.
RunInput: TypeAlias = tuple[list[Reading], list[GivenCommand], list[Event]]

_PAGE = 100
_RECORDS = "SELECT id, body, link FROM records WHERE id > ? ORDER BY id LIMIT ?"
_NEWEST_RUN = "id = (SELECT id FROM records WHERE kind = ? ORDER BY id DESC LIMIT 1)"
# What reading rows raises that no program of ours wrote.
_UNREADABLE = (LookupError, ValueError, ArithmeticError, TypeError, StoreError)


def quick_look(path: Path) -> Generator[None]:
    """Look at the pages of one table and its indices at each step, last at the newest run.

    Raises:
        StoreDamaged: some are not as SQLite writes them, or the run is not what was recorded.
        StoreError: the file can't be read now.
    """
    with Store.read(path) as store:
        connection = store.connection()
        with _readable(path, "its tables"):
            for (table,) in connection.rows("SELECT name FROM sqlite_schema WHERE type = 'table'"):
                ((found, *_), *_) = connection.rows(f"PRAGMA quick_check('{table}')")
                if found != "ok":
                    raise _damage(path, " ".join(str(found).split()))
                yield
            newest = store.records.where(_NEWEST_RUN, kind_name(RunFinished))
        for record in newest:
            if isinstance(record, RunFinished):
                _look_at_run(store, record)


def whole_look(path: Path) -> Generator[None]:
    """Look at all records and all runs that have ended, some records or one run at each step.

    A page may be in order and its rows changed: the links and hashes of the records show that.

    Raises:
        StoreDamaged: one is not what was recorded.
        StoreError: the file can't be read now.
    """
    with Store.read(path) as store:
        last, ends = 0, dict[int | None, str]()
        while True:
            with _readable(path, f"what follows record {last}"):
                rows = store.connection().rows(_RECORDS, (last, _PAGE))
            if not rows:
                return
            for last, body, stored in rows:
                record = _decoded(path, last, body)
                if link(ends.get(record.sample, ""), body.encode()) != stored:
                    raise _damage(path, f"record {last} was changed")
                ends[record.sample] = stored
                if isinstance(record, RunFinished):
                    _look_at_run(store, record)
                    yield
            yield


def read_back(path: Path, run: int) -> RunInput:
    """Readings, commands and events of a run as the file gives them to anybody.

    Raises:
        StoreDamaged: they can't be read.
        StoreError: the file can't be read now.
    """
    with Store.read(path) as store:
        return run_input(store, run)


def run_input(store: Store, run: int) -> RunInput:
    """The same as an open database gives them, which may have them in memory."""
    with _readable(store.path, f"run {run}"):
        return store.runs.readings(run), store.runs.commands(run), store.runs.events(run)


def _decoded(path: Path, number: int, body: str) -> Record:
    with _readable(path, f"record {number}"):
        return decode_body(body)


def _look_at_run(store: Store, run: RunFinished) -> None:
    """Compare the rows of a run with its record, which was made from them."""
    connection = store.connection()
    with _readable(store.path, f"run {run.run}"):
        same = trace_sha256(read_trace(connection, run.run)) == run.trace_sha256
        same &= run_rows(connection, run.run).sha256() == run.record_sha256
        row = store.runs.one(run.run)
        same &= all(getattr(row, name) == getattr(run, name) for name in RUN_FIELDS)
    if not same:
        raise _damage(store.path, f"run {run.run} was changed")


@contextlib.contextmanager
def _readable(path: Path, what: str) -> Iterator[None]:
    """Whatever keeps rows from being read inside, and does not pass, is damage."""
    try:
        yield
    except StoreUnwritable:
        raise
    except _UNREADABLE as error:
        raise _damage(path, f"{what} can't be read") from error


def _damage(path: Path, found: str) -> StoreDamaged:
    return StoreDamaged(f"{path}: is damaged ({found}): set it aside and restore a copy")
