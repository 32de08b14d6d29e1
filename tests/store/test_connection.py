"""How the database is opened: what every commit waits for, and who is waited for."""

import sqlite3
import time

import pytest

from ramphold.errors import StoreUnwritable
from ramphold.store import Store
from ramphold.store._connection import StoreConnection
from support.specimens import add_specimen


def setting(store, name):
    return store.connection().db.execute(f"PRAGMA {name}").fetchone()[0]


@pytest.fixture
def other(path, store):
    """Another program that has the database open."""
    add_specimen(store)
    connection = sqlite3.connect(path, isolation_level=None)
    yield connection
    connection.close()


def test_another_program_is_waited_for_two_seconds_and_little_memory_is_taken(path, store):
    with Store.read(path) as reader:
        for one in (store, reader):
            # SQLite documentation: a negative cache size is in KiB.
            assert (setting(one, "busy_timeout"), setting(one, "cache_size")) == (2000, -512)


def test_a_row_replaced_is_a_row_deleted_to_the_rules(store):
    assert setting(store, "recursive_triggers") == 1


def test_what_can_be_made_again_waits_for_no_disk_and_what_comes_after_does(store):
    connection = store.connection()
    with connection.unhurried_transaction():
        assert setting(store, "synchronous") == 1  # NORMAL
        connection.write("INSERT INTO reading_forms VALUES (9, 'good', 0, 'lbf')")
    assert setting(store, "synchronous") == 2  # FULL


@pytest.mark.parametrize("ask", ["try_to_write", "write_out"])
def test_whether_it_can_be_written_is_told_at_once_and_the_patience_is_as_before(store, other, ask):
    other.execute("BEGIN IMMEDIATE" if ask == "try_to_write" else "BEGIN")
    other.execute("SELECT count(*) FROM records").fetchone()
    add_specimen(store) if ask == "write_out" else None
    began_s = time.perf_counter()
    try:
        assert not getattr(store, ask)()
    except StoreUnwritable:
        assert ask == "try_to_write"
    # A bound against the patience of two seconds, not a measurement.
    assert time.perf_counter() - began_s < 1.5
    assert setting(store, "busy_timeout") == 2000
    other.execute("ROLLBACK")
    assert store.try_to_write() is None
    assert store.write_out()
    assert not store.connection().db.in_transaction


def test_pages_that_are_free_go_back_to_the_disk(store):
    db = store.connection().db
    db.execute("CREATE TABLE t (x)")
    db.execute("INSERT INTO t VALUES (zeroblob(100000))")
    db.execute("DROP TABLE t")
    assert setting(store, "freelist_count") > 20
    store.connection().shrink()
    assert setting(store, "freelist_count") == 0


def test_a_database_that_takes_nothing_is_read_by_nobody_else_meanwhile(path):
    Store.open(path).close()
    with Store.open_unwritable(path) as alone:
        assert (setting(alone, "query_only"), setting(alone, "locking_mode")) == (1, "exclusive")


def test_a_transaction_within_another_is_part_of_it(store):
    connection = store.connection()

    def fail_after_a_part():
        with connection.transaction():
            with connection.transaction():
                connection.write("INSERT INTO reading_forms VALUES (9, 'good', 0, 'lbf')")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_after_a_part()
    assert connection.rows("SELECT count(*) FROM reading_forms WHERE id = 9") == [(0,)]


def test_a_closed_database_may_be_opened_anew_by_the_same_program(path):
    for _ in range(2):
        connection = StoreConnection(path)
        connection.close()
        with pytest.raises(sqlite3.ProgrammingError):
            connection.db.execute("SELECT 1")
