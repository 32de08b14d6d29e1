"""The archive's tables and views.

`events` and `run_data` hold what the benches sent, and only grow. The tables that end in `_results`
are computed from them and can be computed again. Views are for people and general tools: no JSON,
times as text, rounded figures, and of a bench that began a new series only that one. What a person
must decide is marked `disputed`.
"""

from ramphold.collector._archive_database import Database
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

# A series that is replaced, behind or void tells nothing that another does not, or nothing true.
_IN_FORCE = """CREATE VIEW benches_in_force AS
    SELECT series, bench, filed, newest, online, UTC(heard_utc_ns) AS heard,
        told_waiting AS waiting, vouched, standing, against
    FROM benches WHERE standing IN ('in force', 'disputed')"""

# Of a disputed series those samples are shown that the other does not tell in the same words.
_SAMPLES_IN_FORCE = """CREATE VIEW samples_in_force AS
    SELECT b.series, s.sample, b.bench,
        CASE WHEN b.vouched >= s.newest THEN 'vouched for' ELSE 'not vouched for' END AS vouched,
        CASE WHEN b.standing = 'disputed' THEN 'disputed' ELSE '' END AS disputed
    FROM sample_results s JOIN benches_in_force b ON b.series = s.series
    WHERE b.standing = 'in force' OR NOT EXISTS (
        SELECT 1 FROM events e
        WHERE e.series = b.against AND e.sample = s.sample AND e.link = s.link)"""

_VIEWS = (
    _IN_FORCE,
    _SAMPLES_IN_FORCE,
    """CREATE VIEW samples AS
        SELECT b.bench, s.laboratory_number, s.client_reference, s.material, s.size, s.edition,
            s.role, s.state, UTC(s.received_utc_ns) AS received,
            DEC(s.bulk_density_g_cm3, 3) AS bulk_density_g_cm3, s.conforms, s.crush_class,
            s.specimens, s.counted, s.trouble, s.records, s.series, s.sample,
            b.vouched, b.disputed
        FROM sample_results s
        JOIN samples_in_force b ON b.series = s.series AND b.sample = s.sample""",
    """CREATE VIEW classes AS
        SELECT b.bench, s.laboratory_number, s.client_reference, s.material, s.size, s.crush_class,
            s.highest_stress_psi, s.counted, s.findings, s.state,
            UTC(s.received_utc_ns) AS received, s.series, s.sample,
            b.vouched, b.disputed
        FROM sample_results s
        JOIN samples_in_force b ON b.series = s.series AND b.sample = s.sample
        WHERE s.counted > 0""",
    """CREATE VIEW stresses AS
        SELECT b.bench, s.laboratory_number, t.stress_psi, t.specimens,
            DEC(t.mean_pct, 3) AS mean_pct, DEC(t.sd_pct, 3) AS sd_pct, t.series, t.sample,
            b.disputed
        FROM stress_results t
        JOIN samples_in_force b ON b.series = t.series AND b.sample = t.sample
        JOIN sample_results s ON s.series = t.series AND s.sample = t.sample""",
    """CREATE VIEW specimens AS
        SELECT b.bench, s.laboratory_number, p.label, p.target_psi, p.press, p.cell, p.operator,
            UTC(p.run_utc_ns) AS crushed, p.verdict, p.charge_g,
            DEC(p.pan_g, 3) AS pan_g, DEC(p.fines_pct, 3) AS fines_pct, p.counts,
            p.because, p.run, p.specimen, p.series, p.sample, b.disputed
        FROM specimen_results p
        JOIN samples_in_force b ON b.series = p.series AND b.sample = p.sample
        JOIN sample_results s ON s.series = p.series AND s.sample = p.sample""",
    """CREATE VIEW runs AS
        SELECT b.bench, r.run, s.laboratory_number, r.specimen, e.operator,
            UTC(r.started_utc_ns) AS started, r.state, r.verdict, r.target_psi,
            DEC(r.peak_lbf, 1) AS peak_lbf, DEC(r.ramp_rate_psi_min, 1) AS ramp_rate_psi_min,
            DEC(r.held_s, 1) AS held_s, DEC(r.hold_mean_psi, 1) AS hold_mean_psi, r.readings,
            UTC(e.filed_utc_ns) AS filed, r.series, r.record, e.sample,
            CASE WHEN b.standing = 'disputed' THEN 'disputed' ELSE '' END AS disputed
        FROM run_data r JOIN benches_in_force b ON b.series = r.series
        JOIN events e ON e.series = r.series AND e.record = r.record
        LEFT JOIN sample_results s ON s.series = r.series AND s.sample = e.sample
        WHERE b.standing = 'in force' OR NOT EXISTS (
            SELECT 1 FROM events o
            WHERE o.series = b.against AND o.record = r.record AND o.link = e.link)""",
    """CREATE VIEW fines AS
        SELECT bench, laboratory_number, target_psi AS stress_psi, label, fines_pct, charge_g,
            pan_g, press, cell, operator, crushed, series, sample, specimen, disputed
        FROM specimens WHERE counts = 1""",
    # A day, its base period and its deviation as in method.control_chart.
    """CREATE VIEW control_chart AS
        WITH days AS (
            SELECT b.bench, s.client_reference AS material, p.target_psi AS stress_psi, p.press,
                p.cell, min(p.run_utc_ns) AS utc_ns, avg(p.fines_pct) AS mean, count(*) AS n,
                max(p.operator) AS operator, s.laboratory_number, p.series, b.disputed
            FROM specimen_results p
            JOIN samples_in_force b ON b.series = p.series AND b.sample = p.sample
            JOIN sample_results s ON s.series = p.series AND s.sample = p.sample
            WHERE s.role = 'control' AND p.counts = 1
            GROUP BY b.bench, s.client_reference, p.target_psi, p.press, p.cell,
                s.laboratory_number, p.series, b.disputed
        ), ordered AS (
            SELECT days.*, row_number() OVER grouped AS day,
                abs(mean - lag(mean) OVER grouped) AS moving_range
            FROM days WINDOW grouped AS (
                PARTITION BY series, material, stress_psi, press, cell
                ORDER BY utc_ns, laboratory_number)
        ), bases AS (
            SELECT series, material, stress_psi, press, cell, count(*) AS base_days,
                avg(mean) AS centre, avg(moving_range) / 1.128 AS sigma
            FROM ordered WHERE day <= 20 GROUP BY series, material, stress_psi, press, cell
        )
        SELECT ordered.bench, ordered.material, ordered.stress_psi, ordered.press, ordered.cell,
            ordered.operator, UTC(ordered.utc_ns) AS crushed, DEC(ordered.mean, 3) AS mean_pct,
            ordered.n, ordered.day, bases.base_days, DEC(bases.centre, 3) AS centre_pct,
            DEC(bases.sigma, 3) AS sigma_pct,
            CASE WHEN ordered.day > 20 AND abs(ordered.mean - bases.centre) > 4.5 * bases.sigma
                THEN 1 ELSE 0 END AS beyond,
            ordered.laboratory_number, ordered.series, ordered.disputed
        FROM ordered JOIN bases ON bases.series = ordered.series
            AND bases.material = ordered.material AND bases.stress_psi = ordered.stress_psi
            AND bases.press = ordered.press AND bases.cell = ordered.cell""",
)


#: Raised with every change of the tables or views.
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
    for statement in (*_TABLES, *_VIEWS):
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
