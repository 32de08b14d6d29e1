import sqlite3

import pytest

from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.store._connection import StoreConnection
from ramphold.store._migrations import STEPS, migrate


def m002_half(db):
    """Fail when half of it is done."""
    db.execute("CREATE TABLE half (x INTEGER) STRICT")
    db.execute("INSERT INTO half VALUES (1)")
    db.execute("ALTER TABLE runs ADD COLUMN colour TEXT")
    db.execute("INSERT INTO nowhere VALUES (1)")


def m002_whole(db):
    """Be done."""
    db.execute("ALTER TABLE runs ADD COLUMN colour TEXT")


@pytest.fixture
def connection(path):
    opened = StoreConnection(path)
    yield opened
    opened.close()


def state(connection):
    return (
        connection.rows("SELECT name, sql FROM sqlite_master ORDER BY name"),
        connection.rows("SELECT migration_set, name FROM _sqlite_migrations ORDER BY id"),
    )


def test_every_step_is_recorded_once_however_often_the_database_is_opened(path, look):
    for _ in range(3):
        Store.open(path).close()
    names = look("SELECT name FROM _sqlite_migrations ORDER BY id")
    assert names == [(step.__name__,) for step in STEPS]


def test_steps_are_numbered_without_a_gap():
    numbers = [int(step.__name__[1:4]) for step in STEPS]
    assert numbers == list(range(1, len(STEPS) + 1))


def test_a_step_that_fails_half_way_leaves_nothing(connection):
    migrate(connection)
    before = state(connection)
    with pytest.raises(StoreError, match="no such table: nowhere"):
        migrate(connection, (*STEPS, m002_half))
    assert state(connection) == before
    migrate(connection, (*STEPS, m002_whole))
    assert state(connection)[1] == [*before[1], ("ramphold", "m002_whole")]


def test_the_first_step_too_leaves_nothing_when_it_fails(connection):
    def m001_broken(db):
        STEPS[0](db)
        db.execute("SELECT * FROM nowhere")

    with pytest.raises(StoreError, match="no such table: nowhere"):
        migrate(connection, (m001_broken,))
    tables, records = state(connection)
    assert records == []
    assert {name for name, _ in tables if "migrations" not in name} == set()
    migrate(connection)
    assert len(state(connection)[1]) == len(STEPS)


def test_a_database_that_a_newer_version_wrote_is_refused_untouched(path):
    connection = StoreConnection(path)
    migrate(connection, (*STEPS, m002_whole))
    before = state(connection)
    connection.close()
    with pytest.raises(
        StoreError, match=rf"^{path}: a newer version wrote it \(step m002_whole\): install that$"
    ):
        Store.open(path)
    again = StoreConnection(path)
    assert state(again) == before
    again.close()


def test_a_view_that_is_not_as_this_version_makes_it_is_made_anew(path, look):
    views = "SELECT name, sql FROM sqlite_master WHERE type = 'view' ORDER BY name"
    Store.open(path).close()
    made = look(views)
    raw = sqlite3.connect(path)
    raw.execute("DROP VIEW record_mass")
    raw.execute("CREATE VIEW record_mass AS SELECT 7 AS seven")
    raw.execute("DROP VIEW record_run")
    raw.close()
    assert look(views) != made
    Store.open(path).close()
    assert look(views) == made
