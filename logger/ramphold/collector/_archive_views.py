"""The archive's views, for people and general tools: no JSON, times as text, rounded figures."""

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

#: Every view, each after those that it reads.
VIEWS = (
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
    # What people answer for. The collector files no record whose signature is wrong.
    """CREATE VIEW signatures AS
        SELECT b.bench, s.laboratory_number, e.kind AS act, e.operator,
            FIELD(e.body, signed.name) AS name, FIELD(e.body, signed.function) AS function,
            UTC(e.utc_ns) AS done,
            CASE WHEN FIELD(e.body, signed.key) IS NULL THEN 'initials only, not signed'
                WHEN EXISTS (
                    SELECT 1 FROM events p
                    WHERE p.series = e.series AND p.kind = 'person' AND p.record < e.record
                        AND FIELD(p.body, key) = FIELD(e.body, signed.key))
                THEN 'signed' ELSE 'signed by a key that is nobody''s' END AS signature,
            FIELD(e.body, signed.key) AS key, e.series, e.record, e.sample,
            CASE WHEN b.standing = 'disputed' THEN 'disputed' ELSE '' END AS disputed
        FROM events e JOIN benches_in_force b ON b.series = e.series
        LEFT JOIN sample_results s ON s.series = e.series AND s.sample = e.sample
        WHERE e.kind IN ('decision', 'review', 'report')
        AND (b.standing = 'in force' OR NOT EXISTS (
            SELECT 1 FROM events o
            WHERE o.series = b.against AND o.record = e.record AND o.link = e.link))""",
    """CREATE VIEW people AS
        SELECT b.bench, FIELD(e.body, initials) AS initials, FIELD(e.body, name) AS name,
            FIELD(e.body, function) AS function, UTC(e.utc_ns) AS since,
            CASE WHEN FIELD(e.body, signed.key) = FIELD(e.body, key) THEN 'nobody'
                ELSE e.operator END AS vouched_by,
            UTC(r.utc_ns) AS retired, FIELD(e.body, key) AS key, e.series, e.record
        FROM events e JOIN benches_in_force b ON b.series = e.series
        LEFT JOIN events r ON r.series = e.series AND r.kind = 'person retired'
            AND FIELD(r.body, key) = FIELD(e.body, key)
        WHERE e.kind = 'person'""",
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
