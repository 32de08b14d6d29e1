"""The schema step by step, and a view for each kind of record.

A step commits together with the record that it ran, and is never edited once it was released.
`executescript` has no place here: it commits what is open before it starts, and a step that fails
would leave half of itself behind. Views hold nothing, so they are no step: they are made anew
wherever they differ from what this version makes.
"""

from collections.abc import Callable
from functools import cache

from msgspec import structs
from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from ramphold.errors import StoreError
from ramphold.sample import BaseRecord, Record, kind_name
from ramphold.store._connection import Statements, StoreConnection
from ramphold.store._schema import RULES, TABLES

Step = Callable[[Database], None]

#: The kinds of records, by the name of the view that shows each as a table.
KINDS: dict[str, type[BaseRecord]] = {
    f"record_{kind_name(kind).replace(' ', '_')}": kind for kind in Record.__args__
}
#: Selects the name and the text of each rule that a database has.
RULES_THERE = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"


def m001_records_and_runs(db: Database) -> None:
    """Records, runs with their readings, the outbox, and the rules over all of them."""
    for statement in TABLES:
        db.execute(statement)
    for name, when, refused, text in RULES:
        db.execute(
            f"CREATE TRIGGER {name} BEFORE {when} WHEN {refused} "
            f"BEGIN SELECT RAISE(ABORT, '{name.rpartition('_')[0]}: {text}'); END"
        )


STEPS: tuple[Step, ...] = (m001_records_and_runs,)


def migrate(connection: StoreConnection, steps: tuple[Step, ...] | None = None) -> None:
    """Bring the database up to date.

    Raises:
        StoreError: a step failed and left nothing, or a newer version wrote this database.
    """
    migrations = _known(connection, STEPS if steps is None else steps)
    with connection.errors():
        migrations.apply(connection.db)
    with connection.transaction():
        _renew_views(connection)


def check_version(connection: StoreConnection) -> None:
    """Check that the database is as this version writes it, without changing it.

    Raises:
        StoreError: a newer or an older version wrote it, or none of ours.
    """
    migrations = _known(connection, STEPS)
    with connection.errors():
        pending = [step.name for step in migrations.pending(connection.db)]
    if len(pending) == len(STEPS):
        raise StoreError(f"{connection.path}: is no database of a bench: name another file")
    if pending:
        raise StoreError(
            f"{connection.path}: an older version wrote it (before step {pending[0]}): "
            "start a daemon of this version on it first"
        )


@cache
def rules_as_made() -> dict[str, str]:
    """The text of each rule, by its name, as the steps make it."""
    pristine = Database(memory=True)
    for step in STEPS:
        step(pristine)
    rules = dict(Statements(pristine).rows(RULES_THERE))
    pristine.close()
    return rules


def select_kind(kind: type[BaseRecord]) -> str:
    """Select the records of a kind, a column a field."""
    names = [column.encode_name for column in structs.fields(kind)]
    columns = ", ".join(f"body ->> '$.{name}' AS \"{name}\"" for name in names)
    where = f"kind = '{kind_name(kind)}'"
    return f"SELECT {columns} FROM records WHERE {where}"  # noqa: S608 - names of our own


def _renew_views(connection: StoreConnection) -> None:
    there = dict(connection.rows("SELECT name, sql FROM sqlite_master WHERE type = 'view'"))
    for name, kind in KINDS.items():
        view = f"CREATE VIEW {name} AS {select_kind(kind)}"
        if there.get(name) != view:
            connection.write(f"DROP VIEW IF EXISTS {name}")
            connection.write(view)


def _known(connection: StoreConnection, steps: tuple[Step, ...]) -> Migrations:
    """The steps, for a database that has no others."""
    migrations = Migrations("ramphold")
    for step in steps:
        migrations()(step)
    with connection.errors():
        applied = {done.name for done in migrations.applied(connection.db)}
    unknown = applied - {step.__name__ for step in steps}
    if unknown:
        raise StoreError(
            f"{connection.path}: a newer version wrote it (step {max(unknown)}): install that"
        )
    return migrations
