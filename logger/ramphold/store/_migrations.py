"""The schema, step by step. A step commits together with the record that it ran.

A step that has been released is never edited. `executescript` has no place here: it commits
what is open before it starts, and a step that fails would leave half of itself behind.

Rows are only ever added, by rule of the database itself, so that no program, ours or another,
changes what was recorded. `INSERT OR REPLACE` would delete without asking a trigger, hence the
rules on inserts; a unique index would open that way, so uniqueness is a rule as well.
"""

from collections.abc import Callable

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from ramphold.errors import StoreError
from ramphold.store._connection import Connection
from ramphold.store._schema_outbox import add_outbox, name_series
from ramphold.store._schema_samples import add_samples, renew_views

__all__ = ["STEPS", "Step", "check_version", "migrate"]

Step = Callable[[Database], None]


def migrate(connection: Connection, steps: tuple[Step, ...] | None = None) -> None:
    """Bring the database up to date.

    Raises:
        StoreError: a step failed and left nothing, or a newer version wrote this database.
    """
    migrations = _known(connection, STEPS if steps is None else steps)
    with connection.errors():
        migrations.apply(connection.db)


def check_version(connection: Connection) -> None:
    """See that the database is as this version writes it, without changing it.

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


def _known(connection: Connection, steps: tuple[Step, ...]) -> Migrations:
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


_TABLES = (
    """CREATE TABLE specimens (
        id INTEGER PRIMARY KEY,
        label TEXT NOT NULL,
        target_psi REAL NOT NULL,
        bore_in REAL NOT NULL,
        operator TEXT NOT NULL,
        created_utc_ns INTEGER NOT NULL
    ) STRICT""",
    """CREATE TABLE runs (
        id INTEGER PRIMARY KEY,
        specimen INTEGER NOT NULL REFERENCES specimens (id),
        operator TEXT NOT NULL,
        plan TEXT NOT NULL,
        state TEXT NOT NULL,
        reason TEXT NOT NULL,
        started_t_ns INTEGER NOT NULL,
        started_utc_ns INTEGER NOT NULL,
        ended_t_ns INTEGER,
        ended_utc_ns INTEGER,
        assessment TEXT
    ) STRICT""",
    "CREATE INDEX runs_of_specimen ON runs (specimen)",
    "CREATE INDEX runs_live ON runs (id) WHERE ended_t_ns IS NULL",
    # What a reading's number is: few rows, so that a reading itself is integers only.
    """CREATE TABLE reading_forms (
        id INTEGER PRIMARY KEY,
        quality TEXT NOT NULL,
        exponent INTEGER NOT NULL,
        unit TEXT NOT NULL
    ) STRICT""",
    # force_lbf is kept only where raw, exponent and unit do not give it.
    """CREATE TABLE readings (
        run INTEGER NOT NULL REFERENCES runs (id),
        seq INTEGER NOT NULL,
        t_ns INTEGER NOT NULL,
        raw INTEGER NOT NULL,
        form INTEGER NOT NULL REFERENCES reading_forms (id),
        force_lbf REAL,
        PRIMARY KEY (run, seq)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE reading_lines (
        run INTEGER NOT NULL REFERENCES runs (id),
        seq INTEGER NOT NULL,
        line BLOB NOT NULL,
        PRIMARY KEY (run, seq)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE commands (
        run INTEGER NOT NULL REFERENCES runs (id),
        seq INTEGER NOT NULL,
        after_reading INTEGER NOT NULL,
        t_ns INTEGER NOT NULL,
        body TEXT NOT NULL,
        PRIMARY KEY (run, seq)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE events (
        run INTEGER NOT NULL REFERENCES runs (id),
        seq INTEGER NOT NULL,
        t_ns INTEGER NOT NULL,
        kind TEXT NOT NULL,
        body TEXT NOT NULL,
        PRIMARY KEY (run, seq)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE masses (
        id INTEGER PRIMARY KEY,
        specimen INTEGER NOT NULL REFERENCES specimens (id),
        what TEXT NOT NULL CHECK (what IN ('charge', 'pan empty', 'pan full')),
        mass_g REAL NOT NULL,
        line BLOB,
        t_ns INTEGER NOT NULL,
        utc_ns INTEGER NOT NULL,
        operator TEXT NOT NULL,
        corrects INTEGER REFERENCES masses (id),
        reason TEXT,
        CHECK ((corrects IS NULL) = (reason IS NULL))
    ) STRICT""",
    "CREATE INDEX masses_of_specimen ON masses (specimen, what)",
    "CREATE INDEX masses_corrected ON masses (corrects)",
)

_BY_ID = ("specimens", "runs", "reading_forms", "masses")
_BY_RUN = ("readings", "reading_lines", "commands", "events")


def _rule(name: str, when: str, condition: str, text: str) -> str:
    return (
        f"CREATE TRIGGER {name} BEFORE {when} WHEN {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{text}'); END"
    )


def _append_only(table: str, refused: str) -> tuple[str, ...]:
    text = f"{table}: rows are only added, and only to what has not ended"
    update = _rule(f"{table}_update", f"UPDATE ON {table}", "TRUE", text)
    return (
        _rule(f"{table}_insert", f"INSERT ON {table}", refused, text),
        _rule(f"{table}_delete", f"DELETE ON {table}", "TRUE", text),
        # A live run goes on: what of it may change has a rule of its own.
        *(() if table == "runs" else (update,)),
    )


# The names are this file's own, so nothing can be injected.
_SAME_ID = "EXISTS (SELECT 1 FROM {} WHERE id = NEW.id)"
_SAME_SEQ_OR_ENDED = (
    "EXISTS (SELECT 1 FROM {} WHERE run = NEW.run AND seq = NEW.seq) "
    "OR EXISTS (SELECT 1 FROM runs WHERE id = NEW.run AND ended_t_ns IS NOT NULL)"
)

_RULES = (
    *(rule for table in _BY_ID for rule in _append_only(table, _SAME_ID.format(table))),
    *(rule for table in _BY_RUN for rule in _append_only(table, _SAME_SEQ_OR_ENDED.format(table))),
    _rule(
        "runs_update",
        "UPDATE ON runs",
        "OLD.ended_t_ns IS NOT NULL OR (OLD.id, OLD.specimen, OLD.operator, OLD.plan, "
        "OLD.started_t_ns, OLD.started_utc_ns) IS NOT (NEW.id, NEW.specimen, NEW.operator, "
        "NEW.plan, NEW.started_t_ns, NEW.started_utc_ns)",
        "runs: only state and end of a live one change",
    ),
    _rule(
        "runs_one_live",
        "INSERT ON runs",
        "NEW.ended_t_ns IS NULL AND EXISTS (SELECT 1 FROM runs WHERE ended_t_ns IS NULL)",
        "runs: one is live already",
    ),
    _rule(
        "masses_once",
        "INSERT ON masses",
        "EXISTS (SELECT 1 FROM masses WHERE specimen = NEW.specimen AND what = NEW.what "
        "AND corrects IS NEW.corrects)",
        "masses: this one is there already, correct the one that stands",
    ),
    _rule(
        "masses_correct",
        "INSERT ON masses",
        "NEW.corrects IS NOT NULL AND NOT EXISTS (SELECT 1 FROM masses "
        "WHERE id = NEW.corrects AND specimen = NEW.specimen AND what = NEW.what)",
        "masses: only one of the same specimen and weighing is corrected",
    ),
)


def m001_runs_and_masses(db: Database) -> None:
    """Specimens, their runs with all that came in and followed, their masses."""
    for statement in (*_TABLES, *_RULES):
        db.execute(statement)


def m002_samples(db: Database) -> None:
    """Samples, the chain of records, packed traces."""
    add_samples(db)


def m003_shaking_and_anyway(db: Database) -> None:
    """The end of a shaking; why an implausible mass was kept."""
    renew_views(db)


def m004_press_warnings(db: Database) -> None:
    """Warnings of a press that no run follows."""
    renew_views(db)


def m005_outbox(db: Database) -> None:
    """What the laboratory's server has not yet said it has."""
    add_outbox(db)


def m006_corrected_masses(db: Database) -> None:
    """What the balance showed and which certificate corrected it; a load by oil pressure."""
    renew_views(db)


def m007_named_series(db: Database) -> None:
    """Under which name a numbering is sent."""
    name_series(db)


def m008_zero_anyway(db: Database) -> None:
    """Why a zero over its limit is counted from."""
    renew_views(db)


STEPS: tuple[Step, ...] = (
    m001_runs_and_masses,
    m002_samples,
    m003_shaking_and_anyway,
    m004_press_warnings,
    m005_outbox,
    m006_corrected_masses,
    m007_named_series,
    m008_zero_anyway,
)
