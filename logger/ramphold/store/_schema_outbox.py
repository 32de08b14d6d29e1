"""The outbox of the schema: which records the laboratory's server has not yet said it has.

Every record goes in, by a rule of the database itself and so in the transaction that adds it,
whether or not anything is sent: what was kept before a server was there can still be sent.
"""

from sqlite_utils import Database

__all__ = ["add_outbox", "name_series"]

_STATEMENTS = (
    # Random, so that no two databases share it; made here, where no clock is needed.
    """CREATE TABLE series (
        number INTEGER PRIMARY KEY,
        id TEXT NOT NULL DEFAULT (lower(hex(randomblob(16))))
    ) STRICT""",
    "INSERT INTO series DEFAULT VALUES",
    """CREATE TABLE outbox (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        parked TEXT
    ) STRICT""",
    "INSERT INTO outbox (record) SELECT id FROM records",
    "CREATE INDEX outbox_parked ON outbox (record) WHERE parked IS NOT NULL",
    """CREATE TRIGGER records_outbox AFTER INSERT ON records
        BEGIN INSERT INTO outbox (record) VALUES (NEW.id); END""",
    *(
        f"CREATE TRIGGER series_{what} BEFORE {what} ON series WHEN {when} "
        "BEGIN SELECT RAISE(ABORT, 'series: rows are only added'); END"
        for what, when in (
            ("insert", "EXISTS (SELECT 1 FROM series WHERE number = NEW.number)"),
            ("update", "TRUE"),
            ("delete", "TRUE"),
        )
    ),
)


def add_outbox(db: Database) -> None:
    """Make the tables; all records that there are wait to be sent."""
    for statement in _STATEMENTS:
        db.execute(statement)


def name_series(db: Database) -> None:
    """Have each numbering say under which name its bench sends it; null before it ever did."""
    db.execute("ALTER TABLE series ADD COLUMN bench TEXT")
