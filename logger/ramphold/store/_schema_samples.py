"""The second step of the schema: samples, the chain of records, packed traces, views.

A record's columns are its own JSON, so that nothing beside it can say otherwise; the views lay
each kind of record out as a table for general tools.
"""

# ruff: noqa: S608 - every name in a statement is the program's own

from functools import cache

from msgspec import structs
from sqlite_utils import Database

from ramphold.sample import BaseRecord, Record, kind_name

__all__ = ["add_samples", "renew_views", "view_name"]

_TABLES = (
    """CREATE TABLE samples (
        id INTEGER PRIMARY KEY,
        laboratory_number TEXT NOT NULL,
        CHECK (trim(laboratory_number) <> '')
    ) STRICT""",
    "CREATE INDEX samples_by_number ON samples (laboratory_number)",
    """CREATE TABLE records (
        id INTEGER PRIMARY KEY,
        body TEXT NOT NULL,
        link TEXT NOT NULL,
        sample INTEGER GENERATED ALWAYS AS (body ->> '$.sample') VIRTUAL,
        specimen INTEGER GENERATED ALWAYS AS (body ->> '$.specimen') VIRTUAL,
        kind TEXT GENERATED ALWAYS AS (body ->> '$.kind') VIRTUAL,
        operator TEXT GENERATED ALWAYS AS (body ->> '$.operator') VIRTUAL,
        utc_ns INTEGER GENERATED ALWAYS AS (body ->> '$.utc_ns') VIRTUAL,
        CHECK (body ->> '$.record' = id),
        CHECK ((body ->> '$.corrects' IS NULL) = (body ->> '$.reason' IS NULL)
            OR body ->> '$.kind' NOT IN ('mass', 'value'))
    ) STRICT""",
    "CREATE INDEX records_of_sample ON records (sample, id, kind)",
    "CREATE INDEX records_of_kind ON records (sample, kind, id)",
    "CREATE INDEX records_of_specimen ON records (specimen, id) WHERE specimen IS NOT NULL",
    "CREATE INDEX records_masses ON records (sample, specimen) WHERE kind = 'mass'",
    """CREATE INDEX records_control ON records (id)
        WHERE kind = 'sample' AND body ->> '$.role' = 'control'""",
    """CREATE INDEX records_sievings ON records (body ->> '$.item', body ->> '$.utc_ns')
        WHERE kind = 'mass' AND body ->> '$.test' = 'sieve analysis'""",
    """CREATE TABLE traces (
        run INTEGER PRIMARY KEY REFERENCES runs (id),
        readings INTEGER NOT NULL,
        packed BLOB NOT NULL
    ) STRICT""",
    "ALTER TABLE specimens ADD COLUMN sample INTEGER REFERENCES samples (id)",
    "ALTER TABLE specimens ADD COLUMN press TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE specimens ADD COLUMN cell TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX specimens_of_sample ON specimens (sample) WHERE sample IS NOT NULL",
    "CREATE INDEX specimens_of_cell ON specimens (cell) WHERE cell <> ''",
)

_ADDED = "rows are only added"
# The same place of the same specimen or sample. A cylinder is weighed anew at each calibration.
_SAME_PLACE = " AND ".join(
    (
        "kind = 'mass' AND sample IS NEW.sample AND specimen IS NEW.specimen",
        *(f"body ->> '$.{name}' = NEW.body ->> '$.{name}'" for name in ("test", "item", "load")),
    )
)
_SAMPLE_THERE = (
    "EXISTS (SELECT 1 FROM samples WHERE id = NEW.id OR laboratory_number = NEW.laboratory_number)"
)
_NUMBERED = "NEW.id IS NOT (SELECT ifnull(max(id), 0) + 1 FROM records)"
_MASS_THERE = (
    "NEW.kind = 'mass' AND NEW.body ->> '$.test' <> 'cylinder' "
    f"AND EXISTS (SELECT 1 FROM records WHERE {_SAME_PLACE} "
    "AND body ->> '$.corrects' IS NEW.body ->> '$.corrects')"
)
_OTHER_MASS = (
    "NEW.kind = 'mass' AND NEW.body ->> '$.corrects' IS NOT NULL AND NOT EXISTS "
    f"(SELECT 1 FROM records WHERE id = NEW.body ->> '$.corrects' AND {_SAME_PLACE})"
)
_NO_TRACE_YET = "NOT EXISTS (SELECT 1 FROM traces WHERE run = OLD.run)"
_TRACE_REFUSED = (
    "EXISTS (SELECT 1 FROM traces WHERE run = NEW.run) "
    "OR NOT EXISTS (SELECT 1 FROM runs WHERE id = NEW.run AND ended_t_ns IS NOT NULL)"
)

# Trigger, when it looks, what it refuses, and in which words.
_RULES = (
    ("samples_insert", "INSERT ON samples", _SAMPLE_THERE, f"{_ADDED}, one a laboratory number"),
    ("records_insert", "INSERT ON records", _NUMBERED, f"{_ADDED}, numbered without a gap"),
    ("traces_insert", "INSERT ON traces", _TRACE_REFUSED, f"{_ADDED}, only of an ended run"),
    ("masses_once", "INSERT ON records", _MASS_THERE, "there already, correct the one that stands"),
    ("masses_correct", "INSERT ON records", _OTHER_MASS, "only one of the same place is corrected"),
    *(
        (f"{table}_{what}", f"{what} ON {table}", "TRUE", _ADDED)
        for table in ("samples", "records", "traces")
        for what in ("update", "delete")
    ),
    # Readings go once their trace is packed, and not before.
    *(
        (f"{table}_delete", f"DELETE ON {table}", _NO_TRACE_YET, f"{_ADDED}, until packed")
        for table in ("readings", "reading_lines")
    ),
)


def view_name(kind: type[BaseRecord]) -> str:
    """The name of the view that shows a kind of record as a table."""
    return f"record_{kind_name(kind).replace(' ', '_')}"


def add_samples(db: Database) -> None:
    """Make the tables, rules and views."""
    for rule in ("readings_delete", "reading_lines_delete", "masses_once", "masses_correct"):
        db.execute(f"DROP TRIGGER {rule}")
    for statement in _TABLES:
        db.execute(statement)
    for name, when, condition, text in _RULES:
        table = name.rpartition("_")[0]
        db.execute(
            f"CREATE TRIGGER {name} BEFORE {when} WHEN {condition} "
            f"BEGIN SELECT RAISE(ABORT, '{table}: {text}'); END"
        )
    renew_views(db)
    db.execute("DROP TABLE masses")


def renew_views(db: Database) -> None:
    """Make the view of every kind of record as its fields are now."""
    for kind in Record.__args__:
        db.execute(f"DROP VIEW IF EXISTS {view_name(kind)}")
        db.execute(_view(kind))


@cache
def _view(kind: type[BaseRecord]) -> str:
    names = [column.encode_name for column in structs.fields(kind)]
    columns = ", ".join(f"body ->> '$.{name}' AS \"{name}\"" for name in names)
    where = f"kind = '{kind_name(kind)}'"
    return f"CREATE VIEW {view_name(kind)} AS SELECT {columns} FROM records WHERE {where}"
