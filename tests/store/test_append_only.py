"""No program changes what was recorded, unless it takes the database's rules away first."""
# ruff: noqa: S608 - the tables' names are this file's own

import json
import sqlite3

import pytest

from ramphold.core import EndRun, Quality, Reading, RunPlan, TimePassed, Tracker
from ramphold.keys.ed25519 import SigningKey
from ramphold.method.gravimetric import Material
from ramphold.sample import SampleReceived
from ramphold.store import Store
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)
GARBLED = Reading(t_ns=1, force_lbf=float("nan"), quality=Quality.GARBLED, line=b"??")
START = (
    "INSERT INTO runs (specimen, operator, plan, state, reason, started_t_ns, started_utc_ns) "
    "VALUES (1, 'KL', '{}', 'ready', 'started', 0, 0)"
)
RECEIVED = SampleReceived(
    operator="KL", utc_ns=1, laboratory_number="26-0417", client_reference="pit 3",
    material=Material.SAND, size="20/40", edition="ISO 13503-2:2024",
)  # fmt: skip
TABLES = (
    "runs",
    "reading_forms",
    "readings",
    "reading_lines",
    "commands",
    "events",
    "records",
    "traces",
    "series",
    "heads",
)
#: What comes and goes: a record is kept whether or not it was sent.
PASSING = {"outbox"}


@pytest.fixture
def raw(path, add_mass):
    """Another program's connection to a database with a row in each table."""
    with Store.open(path) as store:
        add_specimen(store)
        sample = store.samples.add(RECEIVED).sample
        add_specimen(store, label="b", sample=sample)
        masses = {"specimen": 1, "t_ns": 1, "utc_ns": 1, "operator": "KL"}
        add_mass(store, **masses, mass_g=39.5, line=b"39.5")
        add_mass(store, **masses, mass_g=39.6, line=None, corrects=4, reason="misread")
        packed = store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=0)
        end(store, packed)
        store.runs.pack()
        run = store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=0)
        end(store, run)
        store.heads.sign(SigningKey.generate(), 1)
    connection = sqlite3.connect(path)
    yield connection
    connection.close()


def end(store, run):
    tracker = Tracker(PLAN, t_ns=0)
    events = tracker.command(EndRun(reason="done"), 2)
    store.runs.append(run, readings=[GARBLED], commands=[(1, 1, TimePassed())])
    store.runs.end(run, events=events, assessment=tracker.assess(), utc_ns=0)


def everything(connection):
    return {table: connection.execute(f"SELECT * FROM {table}").fetchall() for table in TABLES}


def columns(connection, table):
    """Those that can be written: not the ones that a record's own text gives."""
    return [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]


def refused(connection, sql):
    before = everything(connection)
    with pytest.raises(sqlite3.IntegrityError, match=r"only|already|live"):
        connection.execute(sql)
    connection.rollback()
    assert everything(connection) == before


def test_the_tables_of_this_test_are_all_there_are_and_none_is_empty(raw):
    names = raw.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE '%sqlite%'"
    ).fetchall()
    assert {name for (name,) in names} == set(TABLES) | PASSING
    assert all(everything(raw).values())


@pytest.mark.parametrize("table", TABLES)
def test_no_column_of_a_recorded_row_is_updated(raw, table):
    for column in columns(raw, table):
        refused(raw, f"UPDATE {table} SET {column} = {column}")


@pytest.mark.parametrize("table", TABLES)
def test_no_recorded_row_is_deleted(raw, table):
    refused(raw, f"DELETE FROM {table}")


@pytest.mark.parametrize("table", TABLES)
def test_no_recorded_row_is_replaced(raw, table):
    names = ", ".join(columns(raw, table))
    refused(raw, f"INSERT OR REPLACE INTO {table} ({names}) SELECT {names} FROM {table}")


@pytest.mark.parametrize("table", ["readings", "reading_lines", "commands", "events"])
def test_nothing_is_added_to_an_ended_run(raw, table):
    names = columns(raw, table)
    values = ", ".join("seq + 1" if name == "seq" else name for name in names)
    refused(raw, f"INSERT INTO {table} SELECT {values} FROM {table}")


def insert_like(connection, record, **changes):
    """An insert of a record like one that stands, but for the changes."""
    ((body,),) = connection.execute("SELECT body FROM records WHERE id = ?", (record,))
    ((last,),) = connection.execute("SELECT max(id) FROM records")
    changed = json.loads(body) | {"record": last + 1} | changes
    text = json.dumps(changed)
    return f"INSERT OR REPLACE INTO records (id, body, link) VALUES ({last + 1}, '{text}', 'x')"


def test_a_correction_that_corrects_another_weighing_is_refused(raw):
    refused(raw, insert_like(raw, 4, item="pan", load="gross", corrects=5, reason="x"))


@pytest.mark.parametrize("correction", [{}, {"corrects": 4, "reason": "x"}])
def test_a_second_mass_in_the_same_place_is_refused(raw, correction):
    refused(raw, insert_like(raw, 4, **correction))


def test_a_record_that_leaves_a_gap_in_the_numbering_is_refused(raw):
    refused(raw, "INSERT INTO records (id, body, link) VALUES (99, '{\"record\": 99}', 'x')")


def test_a_second_sample_of_a_laboratory_number_is_refused(raw):
    refused(raw, insert_like(raw, 2, sample=2))
    raw.execute(insert_like(raw, 2, sample=2, laboratory_number="26-0418"))


@pytest.mark.parametrize(("record", "number"), [(2, "sample"), (1, "specimen")])
def test_a_sample_or_specimen_out_of_order_is_refused(raw, record, number):
    for taken in (1, 9):
        refused(raw, insert_like(raw, record, laboratory_number="26-0418", **{number: taken}))


def test_a_sample_without_a_laboratory_number_is_refused(raw):
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
        raw.execute(insert_like(raw, 2, sample=2, laboratory_number=" "))


def test_a_run_of_a_specimen_that_is_not_there_is_refused(raw):
    refused(raw, START.replace("VALUES (1", "VALUES (9"))


def test_readings_are_not_deleted_before_their_trace_is_packed(raw):
    refused(raw, "DELETE FROM readings WHERE run = 2")


def test_a_trace_of_a_run_that_goes_on_is_refused(raw):
    raw.execute(START)
    raw.commit()
    refused(raw, "INSERT INTO traces SELECT max(id), 0, x'' FROM runs")


@pytest.mark.parametrize(
    "column", ["id", "specimen", "operator", "plan", "started_t_ns", "started_utc_ns"]
)
def test_what_a_live_run_was_started_with_is_not_changed(raw, column):
    raw.execute(START)
    raw.commit()
    refused(raw, f"UPDATE runs SET {column} = 7 WHERE ended_t_ns IS NULL")


def test_a_second_live_run_is_refused_by_the_database_too(raw):
    raw.execute(START)
    raw.commit()
    refused(raw, START)


def test_a_correction_needs_a_reason_and_a_reason_a_correction(raw):
    for change in ({"corrects": 5}, {"reason": "x", "item": "pan"}):
        with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
            raw.execute(insert_like(raw, 4, **change))
