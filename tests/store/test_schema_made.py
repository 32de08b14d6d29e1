import re
import sqlite3

import pytest

from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.store._connection import StoreConnection
from ramphold.store._schema_made import APPLICATION, VERSION, make_schema

EVERYTHING = "SELECT name, sql FROM sqlite_schema ORDER BY name"


def set_in(path, pragma, value):
    other = sqlite3.connect(path)
    other.execute(f"PRAGMA {pragma}={value}")
    other.close()


def test_a_new_file_says_whose_it_is_and_stays_the_same_however_often_it_is_opened(path, look):
    Store.open(path).close()
    made = look(EVERYTHING)
    for _ in range(2):
        Store.open(path).close()
    assert look(EVERYTHING) == made
    assert look("PRAGMA application_id") == [(APPLICATION,)]
    # Databases of benches in use have this number, and nothing converts them.
    assert look("PRAGMA user_version") == [(VERSION,)] == [(1,)]


def test_a_schema_that_fails_half_way_leaves_nothing(path):
    connection = StoreConnection(path)
    connection.db.set_authorizer(
        lambda action, *_: (
            sqlite3.SQLITE_DENY if action == sqlite3.SQLITE_CREATE_TRIGGER else sqlite3.SQLITE_OK
        )
    )
    with pytest.raises(StoreError, match="not authorized"):
        make_schema(connection)
    connection.db.set_authorizer(None)
    assert connection.rows(EVERYTHING) == []
    make_schema(connection)
    assert len(connection.rows(EVERYTHING)) > 20
    connection.close()


@pytest.mark.parametrize(
    ("version", "words"),
    [
        (VERSION + 1, f"a newer version of the program wrote it (schema {VERSION + 1}"),
        (VERSION - 1, f"an older version of the program wrote it (schema {VERSION - 1}"),
    ],
)
def test_a_database_that_another_version_wrote_is_refused_untouched(path, look, version, words):
    Store.open(path).close()
    set_in(path, "user_version", version)
    before = look(EVERYTHING)
    for opened in (Store.open, Store.read):
        with pytest.raises(StoreError, match=re.escape(words)):
            opened(path)
    assert look(EVERYTHING) == before


def test_a_database_of_another_program_is_refused_untouched(path, look):
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE sieves (name TEXT)")
    other.close()
    for opened in (Store.open, Store.read):
        with pytest.raises(StoreError, match="is no database of a bench: name another file"):
            opened(path)
    assert [name for name, _ in look(EVERYTHING)] == ["sieves"]


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
