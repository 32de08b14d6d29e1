"""Whatever goes wrong with the database is one line with the file and what to do."""

import contextlib
import os
import sqlite3
import threading

import pytest

from ramphold.core import RunPlan
from ramphold.errors import StoreError, StoreUnwritable
from ramphold.sqlite_advice import sqlite_advice
from ramphold.store import Store
from ramphold.store._connection import StoreConnection, _mtime_ns
from ramphold.testing.runs import GOOD_RUN, drawn
from support.specimens import add_specimen


def complaint(path, text):
    return pytest.raises(StoreError, match=f"^{path}: {text}$")


def test_a_file_that_is_no_database_is_refused_and_left_alone(path):
    path.write_bytes(b"sieve,mass_g\n20,0.31\n" * 200)
    before = path.read_bytes()
    with complaint(path, "is not a database: name another file"):
        Store.open(path)
    assert path.read_bytes() == before


def test_a_missing_folder_is_named(tmp_path):
    path = tmp_path / "nowhere" / "bench.sqlite"
    with pytest.raises(StoreError, match=f"^{path}.lock: can't be written: No such file"):
        Store.open(path)


def test_a_folder_in_place_of_the_file_is_refused(path):
    path.mkdir()
    with complaint(path, "can't be opened: its folder must exist and be writable"):
        Store.open(path)


def test_a_second_daemon_is_refused_until_the_first_is_gone(path):
    first = Store.open(path)
    with complaint(path, "another daemon has it open: stop that one first"):
        Store.open(path)
    first.close()
    Store.open(path).close()


def test_a_database_locked_by_another_program_is_named_as_such(path, store):
    store._connection.db.execute("PRAGMA busy_timeout=1")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with complaint(path, "is locked by another program: close what else writes to it"):
        add_specimen(store)
    other.execute("ROLLBACK")
    other.close()
    assert add_specimen(store).specimen == 1


def test_a_moment_in_which_another_program_writes_is_waited_for(path, store):
    # Fault: what begins by reading failed at once, so a backup tool made a run NOT RECORDED.
    add_specimen(store)
    plan = RunPlan(target_psi=4000)
    run = store.runs.begin(specimen=1, operator="KL", plan=plan, t_ns=0, utc_ns=0)
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    released = threading.Timer(0.1, lambda: other.execute("ROLLBACK"))
    released.start()
    readings = drawn(GOOD_RUN)[:10]
    store.runs.append(run, readings=readings)
    released.join()
    other.close()
    assert store.runs.readings(run) == readings


def test_a_full_disk_loses_nothing_that_was_kept_and_the_part_can_be_tried_again(path, store):
    add_specimen(store)
    run = store.runs.begin(
        specimen=1, operator="KL", plan=RunPlan(target_psi=4000), t_ns=0, utc_ns=0
    )
    readings = drawn(GOOD_RUN)
    store.runs.append(run, readings=readings[:100])
    db = store._connection.db
    (pages,) = db.execute("PRAGMA page_count").fetchone()
    db.execute(f"PRAGMA max_page_count={pages + 2}").fetchone()
    with complaint(path, "can't grow: the disk is full, free some space"):
        store.runs.append(run, readings=readings[100:])
    assert store.runs.readings(run) == readings[:100]
    db.execute(f"PRAGMA max_page_count={pages + 1000}").fetchone()
    store.runs.append(run, readings=readings[100:])
    assert store.runs.readings(run) == readings


@pytest.mark.parametrize("suffix", ["", "-wal"])
@pytest.mark.parametrize("replaced", [False, True])
def test_a_database_deleted_or_replaced_under_the_daemon_takes_nothing_more(
    path, store, suffix, replaced
):
    """What is written into a file without a name is gone with the program."""
    add_specimen(store)
    name = path.with_name(path.name + suffix)
    content = name.read_bytes()
    name.unlink()
    if replaced:
        name.with_suffix(".new").write_bytes(content)
        name.with_suffix(".new").rename(name)
    for write in (add_specimen, Store.try_to_write):
        with pytest.raises(StoreUnwritable, match="was deleted or replaced under the daemon"):
            write(store)


def test_a_database_deleted_before_anything_was_written_takes_nothing_either(path):
    Store.open(path).close()
    with Store.open(path) as store:
        store.try_to_write()
        path.unlink()
        # Fault: what only tries to write called a deleted database well.
        with pytest.raises(StoreUnwritable, match="was deleted or replaced under the daemon"):
            store.try_to_write()


def test_a_disk_without_room_for_what_readers_share_is_called_full():
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = sqlite3.SQLITE_IOERR_SHMSIZE
    assert sqlite_advice(error, "daemon", full=True).startswith("can't grow: the disk is full")
    assert sqlite_advice(error, "daemon").startswith("can't be read or written: the disk failed")


@pytest.mark.parametrize(
    ("folder", "said"),
    [("/proc", "the disk is full"), ("/nowhere", "the disk failed"), (".", "the disk failed")],
    ids=["never any room", "gone", "room"],
)
def test_a_failure_of_the_disk_is_called_full_only_where_it_has_no_room(path, folder, said):
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = sqlite3.SQLITE_IOERR_SHMSIZE
    with contextlib.closing(StoreConnection(path)) as connection:
        connection.path = path.parent / folder / path.name
        with pytest.raises(StoreUnwritable, match=said), connection.errors():
            raise error


def test_a_database_that_may_not_be_written_is_named_as_such(path):
    connection = StoreConnection(path)
    connection.db.execute("CREATE TABLE t (x)")
    reader = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    with (
        complaint(path, "can't be written: its owner and mode must let the daemon write"),
        connection.errors(),
    ):
        reader.execute("INSERT INTO t VALUES (1)")
    reader.close()
    connection.close()


def test_a_damaged_database_is_named_as_such(path):
    with Store.open(path) as store:
        for _ in range(200):
            add_specimen(store)
    size = path.stat().st_size
    with path.open("r+b") as file:
        for page in range(1, size // 4096):
            file.seek(page * 4096)
            file.write(os.urandom(64))
    with complaint(path, "is damaged: set it aside and restore a copy"):
        Store.open(path)


def test_the_store_is_refused_to_any_thread_but_its_own(path, store):
    caught = []

    def intrude():
        try:
            store.runs.page()
        except StoreError as error:
            caught.append(str(error))

    thread = threading.Thread(target=intrude)
    thread.start()
    thread.join()
    assert len(caught) == 1
    assert caught[0].startswith(f"{path}: refused this: SQLite objects created in a thread")


def test_others_may_read_while_the_store_writes(store, look):
    add_specimen(store)
    with store._connection.transaction():
        store._connection.write("INSERT INTO reading_forms VALUES (9, 'good', 0, 'lbf')")
        assert look("SELECT count(*) FROM records") == [(1,)]
        assert look("SELECT count(*) FROM reading_forms") == [(0,)]
    assert look("SELECT count(*) FROM reading_forms") == [(1,)]


def test_every_commit_reaches_the_disk(store):
    db = store._connection.db
    settings = {
        name: db.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "foreign_keys", "auto_vacuum")
    }
    assert settings == {
        "journal_mode": "wal",
        "synchronous": 2,  # FULL
        "foreign_keys": 1,
        "auto_vacuum": 2,  # INCREMENTAL
    }


def test_the_store_sees_to_it_that_all_tables_are_strict(look, store):
    tables = look(
        "SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table'"
    )
    loose = {name for name, strict in tables if not strict and not name.startswith("sqlite_")}
    assert loose == set()
    assert len(tables) > 6
    assert store.interrupted == ()


def test_a_file_that_another_program_has_written_into_is_told_until_that_is_dealt_with(path, store):
    add_specimen(store)
    assert not store.touched
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("CREATE TABLE of_another_program (x)")
    other.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    other.close()
    os.utime(path, ns=(1, 1))  # a clock that ticks coarsely would show no change
    add_specimen(store)
    assert store.touched
    store.touched = False
    add_specimen(store)
    assert not store.touched


def test_a_file_that_is_gone_was_not_written_at_any_time(tmp_path):
    assert _mtime_ns(tmp_path / "gone.sqlite3") is None
