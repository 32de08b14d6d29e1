"""The archive's tables and views.

`events` and `run_data` hold what the benches sent, and only grow. The tables that end in `_results`
are computed from them and can be computed again. Views are for people and general tools: no JSON,
times as text, rounded figures, and of a bench that began a new series only that one. What a person
must decide is marked `disputed`.
"""

from ramphold.collector._archive_database import Database
from ramphold.collector._archive_views import VIEWS
from ramphold.errors import StoreError

_TABLES = (
    """CREATE TABLE benches (
        series TEXT PRIMARY KEY,
        bench TEXT NOT NULL,
        first_utc_ns INTEGER NOT NULL,
        heard_utc_ns INTEGER NOT NULL,
        filed INTEGER NOT NULL DEFAULT 0,
        newest INTEGER NOT NULL DEFAULT 0,
        origin TEXT,
        online INTEGER NOT NULL DEFAULT 0,
        told_newest INTEGER NOT NULL DEFAULT 0,
        told_waiting INTEGER NOT NULL DEFAULT 0,
        state TEXT,
        state_utc_ns INTEGER,
        fingerprint TEXT,
        vouched INTEGER NOT NULL DEFAULT 0,
        standing TEXT NOT NULL DEFAULT 'in force',
        against TEXT
    ) STRICT""",
    "CREATE INDEX benches_of_origin ON benches (origin)",
    "CREATE INDEX benches_of_name ON benches (bench)",
    # A series that contradicts one that was heard of before, and at which record that was seen.
    """CREATE TABLE forks (
        series TEXT NOT NULL,
        against TEXT NOT NULL,
        record INTEGER NOT NULL,
        utc_ns INTEGER NOT NULL,
        PRIMARY KEY (series, against)
    ) STRICT""",
    # What a person decided of a disputed series; `statement` is what was signed, word for word.
    """CREATE TABLE decisions (
        number INTEGER PRIMARY KEY,
        series TEXT NOT NULL,
        against TEXT NOT NULL,
        verdict TEXT NOT NULL,
        statement TEXT NOT NULL,
        key TEXT NOT NULL,
        signature TEXT NOT NULL
    ) STRICT""",
    # What the benches signed of their records, the collector's receipts that they sent back, and
    # whether the filed records are those.
    """CREATE TABLE heads (
        series TEXT NOT NULL,
        word TEXT NOT NULL,
        count INTEGER NOT NULL,
        root TEXT NOT NULL,
        utc_ns INTEGER NOT NULL,
        key TEXT NOT NULL,
        signature TEXT NOT NULL,
        fingerprint TEXT NOT NULL,
        agrees INTEGER NOT NULL,
        PRIMARY KEY (series, signature)
    ) STRICT""",
    "CREATE INDEX heads_contradicting ON heads (series) WHERE agrees = 0",
    # The keys that a person has accepted as those of a bench.
    """CREATE TABLE bench_keys (
        bench TEXT NOT NULL,
        fingerprint TEXT NOT NULL,
        accepted_by TEXT NOT NULL,
        utc_ns INTEGER NOT NULL,
        PRIMARY KEY (bench, fingerprint)
    ) STRICT""",
    """CREATE TABLE events (
        series TEXT NOT NULL,
        record INTEGER NOT NULL,
        bench TEXT NOT NULL,
        kind TEXT NOT NULL,
        sample INTEGER,
        specimen INTEGER,
        laboratory_number TEXT,
        operator TEXT NOT NULL,
        utc_ns INTEGER NOT NULL,
        body TEXT NOT NULL,
        before_link TEXT NOT NULL,
        previous TEXT NOT NULL,
        link TEXT NOT NULL,
        filed_utc_ns INTEGER NOT NULL,
        PRIMARY KEY (series, record)
    ) STRICT""",
    "CREATE INDEX events_of_sample ON events (series, sample, record)",
    "CREATE INDEX events_of_kind ON events (series, kind, record)",
    """CREATE INDEX events_of_number ON events (laboratory_number)
        WHERE laboratory_number IS NOT NULL""",
    """CREATE TABLE run_data (
        series TEXT NOT NULL,
        record INTEGER NOT NULL,
        run INTEGER NOT NULL,
        specimen INTEGER NOT NULL,
        state TEXT NOT NULL,
        verdict TEXT,
        target_psi REAL NOT NULL,
        peak_lbf REAL,
        ramp_rate_psi_min REAL,
        held_s REAL,
        hold_mean_psi REAL,
        started_utc_ns INTEGER NOT NULL,
        ended_utc_ns INTEGER NOT NULL,
        started_t_ns INTEGER NOT NULL,
        ended_t_ns INTEGER NOT NULL,
        readings INTEGER NOT NULL,
        plan TEXT NOT NULL,
        commands TEXT NOT NULL,
        events TEXT NOT NULL,
        assessment TEXT,
        trace BLOB NOT NULL,
        PRIMARY KEY (series, record)
    ) STRICT""",
    "CREATE INDEX run_data_of_run ON run_data (series, run)",
    # By day without touching the traces, and those that did not pass.
    "CREATE INDEX run_data_started ON run_data (started_utc_ns, series, specimen)",
    """CREATE INDEX run_data_not_passed ON run_data (started_utc_ns, series, record)
        WHERE verdict IS NULL OR verdict <> 'pass'""",
    """CREATE TABLE parts (
        bench TEXT NOT NULL,
        event TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        part INTEGER NOT NULL,
        parts INTEGER NOT NULL,
        data BLOB NOT NULL,
        utc_ns INTEGER NOT NULL,
        PRIMARY KEY (bench, event, sha256, parts, part)
    ) STRICT""",
    """CREATE TABLE quarantine (
        id INTEGER PRIMARY KEY,
        sha256 TEXT NOT NULL UNIQUE,
        topic TEXT NOT NULL,
        bench TEXT,
        series TEXT,
        record INTEGER,
        code TEXT NOT NULL,
        reason TEXT NOT NULL,
        payload BLOB NOT NULL,
        utc_ns INTEGER NOT NULL,
        newest_utc_ns INTEGER NOT NULL,
        times INTEGER NOT NULL DEFAULT 1,
        poison INTEGER NOT NULL,
        version TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX quarantine_of_record ON quarantine (series, record)",
    "CREATE INDEX quarantine_of_bench ON quarantine (coalesce(bench, ''))",
    """CREATE TABLE quarantine_dropped (
        bench TEXT PRIMARY KEY,
        messages INTEGER NOT NULL,
        bytes INTEGER NOT NULL,
        newest_utc_ns INTEGER NOT NULL
    ) STRICT""",
    """CREATE TABLE dirty (
        series TEXT NOT NULL,
        sample INTEGER NOT NULL,
        PRIMARY KEY (series, sample)
    ) STRICT""",
    """CREATE TABLE sample_results (
        series TEXT NOT NULL,
        sample INTEGER NOT NULL,
        laboratory_number TEXT NOT NULL,
        client_reference TEXT NOT NULL,
        material TEXT NOT NULL,
        size TEXT NOT NULL,
        edition TEXT NOT NULL,
        role TEXT NOT NULL,
        state TEXT NOT NULL,
        received_utc_ns INTEGER NOT NULL,
        bulk_density_g_cm3 REAL,
        conforms INTEGER,
        crush_class TEXT,
        highest_stress_psi REAL,
        specimens INTEGER NOT NULL,
        counted INTEGER NOT NULL,
        findings TEXT NOT NULL,
        trouble TEXT NOT NULL,
        records INTEGER NOT NULL,
        newest INTEGER NOT NULL,
        link TEXT NOT NULL,
        PRIMARY KEY (series, sample)
    ) STRICT""",
    # One for each way in which people look for samples, the newest first.
    "CREATE INDEX sample_results_received ON sample_results (received_utc_ns, series, sample)",
    "CREATE INDEX sample_results_of_series ON sample_results (series, received_utc_ns)",
    "CREATE INDEX sample_results_of_size ON sample_results (size, received_utc_ns)",
    "CREATE INDEX sample_results_of_class ON sample_results (crush_class, received_utc_ns)",
    "CREATE INDEX sample_results_of_state ON sample_results (state, received_utc_ns)",
    "CREATE INDEX sample_results_of_role ON sample_results (role, received_utc_ns)",
    "CREATE INDEX sample_results_open ON sample_results (role, state, received_utc_ns)",
    """CREATE INDEX sample_results_number
        ON sample_results (lower(laboratory_number COLLATE BINARY))""",
    """CREATE INDEX sample_results_reference
        ON sample_results (lower(client_reference COLLATE BINARY))""",
    """CREATE TABLE stress_results (
        series TEXT NOT NULL,
        sample INTEGER NOT NULL,
        stress_psi REAL NOT NULL,
        specimens INTEGER NOT NULL,
        mean_pct REAL NOT NULL,
        sd_pct REAL,
        PRIMARY KEY (series, sample, stress_psi)
    ) STRICT""",
    """CREATE TABLE specimen_results (
        series TEXT NOT NULL,
        sample INTEGER NOT NULL,
        specimen INTEGER NOT NULL,
        label TEXT NOT NULL,
        target_psi REAL NOT NULL,
        press TEXT NOT NULL,
        cell TEXT NOT NULL,
        run INTEGER,
        run_utc_ns INTEGER,
        operator TEXT,
        verdict TEXT,
        charge_g REAL,
        pan_g REAL,
        fines_pct REAL,
        counts INTEGER NOT NULL,
        because TEXT NOT NULL,
        PRIMARY KEY (series, specimen)
    ) STRICT""",
    "CREATE INDEX specimen_results_of_sample ON specimen_results (series, sample)",
)

#: Raised with every change of the tables or views after the first release.
_VERSION = 1


def migrate(database: Database, *, read_only: bool = False) -> None:
    """Create the tables and views of a new archive, or check the version of an old one.

    Raises:
        StoreError: it cannot be written, another version wrote it, or it is to be read only and is
            no archive.
    """
    if not read_only:
        with database.transaction():
            database.one_at_a_time()
            database.write(
                "CREATE TABLE IF NOT EXISTS archive_steps (step INTEGER NOT NULL) STRICT"
            )
            if not _version(database):
                _create(database)
    version = _version(database)
    if version != _VERSION:
        age, advice = (
            ("a newer", "update this program")
            if version > _VERSION
            else ("an older", "start `ramphold collect` with a new archive")
        )
        raise StoreError(f"{database.name}: {age} version wrote it ({version}): {advice}")


def _create(database: Database) -> None:
    for statement in (*_TABLES, *VIEWS):
        database.write(statement)
    for table in ("events", "run_data", "heads", "bench_keys", "forks", "decisions"):
        database.keep_rows(table)
    database.write("INSERT INTO archive_steps VALUES (?)", (_VERSION,))


def _version(database: Database) -> int:
    try:
        return int(database.rows("SELECT coalesce(max(step), 0) FROM archive_steps")[0][0])
    except StoreError as error:
        raise StoreError(
            f"{database.name}: expected an archive that `ramphold collect` has made ({error})"
        ) from None
