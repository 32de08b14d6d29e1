"""The tables of the bench's database and their rules, as SQL.

Triggers allow rows to be added and never changed, so that no program, ours or another, changes
what was recorded. `INSERT OR REPLACE` deletes a row without firing a trigger on deletes, hence the
rules on inserts; a unique index would let it through, so uniqueness is a rule as well.
"""

# ruff: noqa: S608 - every name in a statement is the program's own

#: What makes each table with its indexes, in order.
TABLES = (
    # A record's columns are its own JSON, so that nothing beside it can say otherwise.
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
            OR body ->> '$.kind' NOT IN ('mass', 'value')),
        CHECK (body ->> '$.kind' <> 'sample' OR trim(body ->> '$.laboratory_number') <> '')
    ) STRICT""",
    "CREATE INDEX records_of_sample ON records (sample, id, kind)",
    "CREATE INDEX records_of_kind ON records (sample, kind, id)",
    "CREATE INDEX records_of_specimen ON records (specimen, id) WHERE specimen IS NOT NULL",
    "CREATE INDEX records_masses ON records (sample, specimen) WHERE kind = 'mass'",
    "CREATE INDEX records_samples ON records (sample) WHERE kind = 'sample'",
    """CREATE INDEX records_numbers ON records (body ->> '$.laboratory_number')
        WHERE kind = 'sample'""",
    """CREATE INDEX records_control ON records (id)
        WHERE kind = 'sample' AND body ->> '$.role' = 'control'""",
    "CREATE INDEX records_specimens ON records (specimen) WHERE kind = 'specimen'",
    "CREATE INDEX records_cells ON records (body ->> '$.cell') WHERE kind = 'specimen'",
    """CREATE INDEX records_sievings ON records (body ->> '$.item', body ->> '$.utc_ns')
        WHERE kind = 'mass' AND body ->> '$.test' = 'sieve analysis'""",
    """CREATE TABLE runs (
        id INTEGER PRIMARY KEY,
        specimen INTEGER NOT NULL,
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
    # How to read a reading's number: few rows, so that a reading itself is integers only.
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
    "CREATE INDEX events_learned ON events (run) WHERE kind = 'HandLearned'",
    """CREATE TABLE traces (
        run INTEGER PRIMARY KEY REFERENCES runs (id),
        readings INTEGER NOT NULL,
        packed BLOB NOT NULL
    ) STRICT""",
    # A numbering of the records, and the bench that sends in it; null before the first message.
    # Its id is random, so that no two databases share it.
    """CREATE TABLE series (
        number INTEGER PRIMARY KEY,
        id TEXT NOT NULL DEFAULT (lower(hex(randomblob(16)))),
        bench TEXT
    ) STRICT""",
    "INSERT INTO series DEFAULT VALUES",
    # What the bench signed of its records (head), and the collector of those it filed (receipt).
    """CREATE TABLE heads (
        number INTEGER PRIMARY KEY,
        word TEXT NOT NULL CHECK (word IN ('head', 'receipt')),
        count INTEGER NOT NULL,
        root TEXT NOT NULL,
        utc_ns INTEGER NOT NULL,
        key TEXT NOT NULL,
        signature TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX heads_of_word ON heads (word, count)",
    # The records that the laboratory's server has not acknowledged, whether or not there is one.
    """CREATE TABLE outbox (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        parked TEXT
    ) STRICT""",
    "CREATE INDEX outbox_parked ON outbox (record) WHERE parked IS NOT NULL",
    """CREATE TRIGGER records_outbox AFTER INSERT ON records
        BEGIN INSERT INTO outbox (record) VALUES (NEW.id); END""",
)

# The same place of the same specimen or sample. A cylinder is weighed again at each calibration.
_SAME_PLACE = " AND ".join(
    (
        "kind = 'mass' AND sample IS NEW.sample AND specimen IS NEW.specimen",
        *(f"body ->> '$.{name}' = NEW.body ->> '$.{name}'" for name in ("test", "item", "load")),
    )
)
_MASS_THERE = (
    "NEW.kind = 'mass' AND NEW.body ->> '$.test' <> 'cylinder' "
    f"AND EXISTS (SELECT 1 FROM records WHERE {_SAME_PLACE} "
    "AND body ->> '$.corrects' IS NEW.body ->> '$.corrects')"
)
_OTHER_MASS = (
    "NEW.kind = 'mass' AND NEW.body ->> '$.corrects' IS NOT NULL AND NOT EXISTS "
    f"(SELECT 1 FROM records WHERE id = NEW.body ->> '$.corrects' AND {_SAME_PLACE})"
)
_LABORATORY_NUMBER_THERE = (
    "NEW.kind = 'sample' AND EXISTS (SELECT 1 FROM records WHERE kind = 'sample' "
    "AND body ->> '$.laboratory_number' = NEW.body ->> '$.laboratory_number')"
)
_STARTED_WITH = ("id", "specimen", "operator", "plan", "started_t_ns", "started_utc_ns")
_RUN_CHANGED = "OLD.ended_t_ns IS NOT NULL OR ({}) IS NOT ({})".format(
    *(", ".join(f"{row}.{name}" for name in _STARTED_WITH) for row in ("OLD", "NEW"))
)
_ENDED = "EXISTS (SELECT 1 FROM runs WHERE id = NEW.run AND ended_t_ns IS NOT NULL)"
_LIVE = "EXISTS (SELECT 1 FROM runs WHERE ended_t_ns IS NULL)"
_SPECIMEN_THERE = (
    "EXISTS (SELECT 1 FROM records WHERE kind = 'specimen' AND specimen = NEW.specimen)"
)
_NOT_PACKED = "NOT EXISTS (SELECT 1 FROM traces WHERE run = OLD.run)"
_ADDED = "rows are only added"


def _next(column: str, kind: str) -> str:
    """True for a record of a kind that does not have the next number in a column."""
    newest = f"SELECT ifnull(max({column}), 0) FROM records WHERE kind = '{kind}'"
    return f"NEW.kind = '{kind}' AND NEW.{column} IS NOT ({newest}) + 1"


def _there(table: str, *key: str) -> str:
    same = " AND ".join(f"{name} = NEW.{name}" for name in key)
    return f"EXISTS (SELECT 1 FROM {table} WHERE {same})"


#: Each rule: its name, when it looks, what it refuses, and in which words.
RULES = (
    (
        "records_insert",
        "INSERT ON records",
        "NEW.id IS NOT (SELECT ifnull(max(id), 0) + 1 FROM records)",
        f"{_ADDED}, numbered without a gap",
    ),
    ("samples_insert", "INSERT ON records", _next("sample", "sample"), f"{_ADDED}, in order"),
    (
        "samples_once",
        "INSERT ON records",
        _LABORATORY_NUMBER_THERE,
        "only one has a laboratory number",
    ),
    ("specimens_insert", "INSERT ON records", _next("specimen", "specimen"), f"{_ADDED}, in order"),
    ("masses_once", "INSERT ON records", _MASS_THERE, "there already, correct the one that stands"),
    ("masses_correct", "INSERT ON records", _OTHER_MASS, "only one of the same place is corrected"),
    ("runs_insert", "INSERT ON runs", _there("runs", "id"), _ADDED),
    (
        "runs_live",
        "INSERT ON runs",
        f"NEW.ended_t_ns IS NULL AND {_LIVE}",
        "one is live already",
    ),
    ("runs_specimen", "INSERT ON runs", f"NOT {_SPECIMEN_THERE}", "only of a specimen there is"),
    ("runs_update", "UPDATE ON runs", _RUN_CHANGED, "only state and end of a live one change"),
    ("reading_forms_insert", "INSERT ON reading_forms", _there("reading_forms", "id"), _ADDED),
    (
        "traces_insert",
        "INSERT ON traces",
        f"{_there('traces', 'run')} OR NOT {_ENDED}",
        f"{_ADDED}, only of an ended run",
    ),
    ("series_insert", "INSERT ON series", _there("series", "number"), _ADDED),
    ("heads_insert", "INSERT ON heads", _there("heads", "number"), _ADDED),
    *(
        (
            f"{table}_insert",
            f"INSERT ON {table}",
            f"{_there(table, 'run', 'seq')} OR {_ENDED}",
            f"{_ADDED}, and only to a live run",
        )
        for table in ("readings", "reading_lines", "commands", "events")
    ),
    *(
        (f"{table}_update", f"UPDATE ON {table}", "TRUE", _ADDED)
        for table in (
            "records", "reading_forms", "readings", "reading_lines", "commands", "events",
            "traces", "series", "heads",
        )
    ),
    *(
        (f"{table}_delete", f"DELETE ON {table}", "TRUE", _ADDED)
        for table in (
            "records", "runs", "reading_forms", "commands", "events", "traces", "series", "heads",
        )
    ),
    # The readings may be deleted once their trace is packed.
    *(
        (f"{table}_delete", f"DELETE ON {table}", _NOT_PACKED, f"{_ADDED}, until packed")
        for table in ("readings", "reading_lines")
    ),
)  # fmt: skip
