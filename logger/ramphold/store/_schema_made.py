"""The schema as it is made in a new file, and a view for each kind of record.

The file says which version of the schema it has. Views hold nothing, so they belong to no version:
they are made anew wherever they differ from what this program makes.
"""

import contextlib
import sqlite3
from functools import cache

from ramphold.errors import StoreError
from ramphold.sample import BaseRecord, Record, kind_name
from ramphold.store._connection import Statements, StoreConnection
from ramphold.store._schema import RULES, TABLES

VERSION = 1
#: Marks the file as ours: "rhld" in ASCII, among the identifiers that SQLite's header has room for.
APPLICATION = 0x72686C64

#: The kinds of records, by the name of the view that shows each as a table.
KINDS: dict[str, type[BaseRecord]] = {
    f"record_{kind_name(kind).replace(' ', '_')}": kind for kind in Record.__args__
}
#: Selects the name and the text of each rule that a database has.
RULES_THERE = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"


def make_schema(connection: StoreConnection) -> None:
    """Make the tables, rules and views that the file lacks.

    Raises:
        StoreError: another version wrote this database, or another program; it is left alone.
    """
    if not connection.rows("SELECT 1 FROM sqlite_schema LIMIT 1"):
        with connection.transaction():
            _make(connection)
    check_version(connection)
    with connection.transaction():
        _renew_views(connection)


def check_version(connection: StoreConnection) -> None:
    """Check that the database is as this version writes it, without changing it.

    Raises:
        StoreError: another version wrote it, or another program.
    """
    ((application,),) = connection.rows("PRAGMA application_id")
    if application != APPLICATION:
        raise StoreError(f"{connection.path}: is no database of a bench: name another file")
    ((version,),) = connection.rows("PRAGMA user_version")
    if version != VERSION:
        whose = "a newer" if version > VERSION else "an older"
        raise StoreError(
            f"{connection.path}: {whose} version of the program wrote it (schema {version}, and "
            f"this one has {VERSION}): use that version"
        )


def _make(statements: Statements) -> None:
    for statement in TABLES:
        statements.write(statement)
    for name, when, refused, text in RULES:
        statements.write(
            f"CREATE TRIGGER {name} BEFORE {when} WHEN {refused} "
            f"BEGIN SELECT RAISE(ABORT, '{name.rpartition('_')[0]}: {text}'); END"
        )
    statements.write(f"PRAGMA application_id={APPLICATION}")
    statements.write(f"PRAGMA user_version={VERSION}")


@cache
def rules_as_made() -> dict[str, str]:
    """The text of each rule, by its name, as it is made."""
    with contextlib.closing(sqlite3.connect(":memory:")) as pristine:
        statements = Statements(pristine)
        _make(statements)
        return dict(statements.rows(RULES_THERE))


def select_kind(kind: type[BaseRecord]) -> str:
    """Select the records of a kind, a column a field."""
    columns = ", ".join(
        f"body ->> '$.{name}' AS \"{name}\"" for name in kind.__struct_encode_fields__
    )
    where = f"kind = '{kind_name(kind)}'"
    return f"SELECT {columns} FROM records WHERE {where}"  # noqa: S608 - names of our own


def _renew_views(connection: StoreConnection) -> None:
    there = dict(connection.rows("SELECT name, sql FROM sqlite_master WHERE type = 'view'"))
    for name, kind in KINDS.items():
        view = f"CREATE VIEW {name} AS {select_kind(kind)}"
        if there.get(name) != view:
            connection.write(f"DROP VIEW IF EXISTS {name}")
            connection.write(view)
