"""No program changes what was recorded, unless it takes the database's rules away first."""
# ruff: noqa: S608 - the tables' names are this file's own

import sqlite3

import pytest

from ramphold.core import EndRun, Quality, Reading, RunPlan, TimePassed, Tracker
from ramphold.sample import Weighing
from ramphold.store import Store

PLAN = RunPlan(target_psi=4000)
GARBLED = Reading(t_ns=1, force_lbf=float("nan"), quality=Quality.GARBLED, line=b"??")
TABLES = (
    "specimens",
    "runs",
    "reading_forms",
    "readings",
    "reading_lines",
    "commands",
    "events",
    "masses",
)


@pytest.fixture
def raw(path):
    """Another program's connection to a database with a row in each table."""
    with Store.open(path) as store:
        store.add_specimen(label="a", target_psi=4000, bore_in=2, operator="KL", utc_ns=1)
        masses = {"specimen": 1, "what": Weighing.CHARGE, "t_ns": 1, "utc_ns": 1, "operator": "KL"}
        store.add_mass(**masses, mass_g=39.5, line=b"39.5")
        store.add_mass(**masses, mass_g=39.6, line=None, corrects=1, reason="misread")
        run = store.begin_run(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=0)
        tracker = Tracker(PLAN, t_ns=0)
        events = tracker.command(EndRun(reason="done"), 2)
        commands = [(1, 1, TimePassed())]
        store.append(run, readings=[GARBLED], commands=commands)
        store.end_run(run, events=events, assessment=tracker.assess(), utc_ns=0)
    connection = sqlite3.connect(path)
    yield connection
    connection.close()


def everything(connection):
    return {table: connection.execute(f"SELECT * FROM {table}").fetchall() for table in TABLES}


def columns(connection, table):
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
    assert {name for (name,) in names} == set(TABLES)
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
    refused(raw, f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")


@pytest.mark.parametrize("table", ["readings", "reading_lines", "commands", "events"])
def test_nothing_is_added_to_an_ended_run(raw, table):
    names = columns(raw, table)
    values = ", ".join("seq + 1" if name == "seq" else name for name in names)
    refused(raw, f"INSERT INTO {table} SELECT {values} FROM {table}")


def test_a_correction_that_corrects_another_weighing_is_refused(raw):
    refused(
        raw,
        "INSERT INTO masses (specimen, what, mass_g, t_ns, utc_ns, operator, corrects, reason) "
        "VALUES (1, 'pan full', 1, 1, 1, 'KL', 2, 'x')",
    )


@pytest.mark.parametrize("corrects", ["1, 'x'", "NULL, NULL"])
def test_a_second_mass_in_the_same_place_is_refused(raw, corrects):
    refused(
        raw,
        "INSERT OR REPLACE INTO masses "
        "(specimen, what, mass_g, t_ns, utc_ns, operator, corrects, reason) "
        f"VALUES (1, 'charge', 1, 1, 1, 'KL', {corrects})",
    )


@pytest.mark.parametrize(
    "column", ["id", "specimen", "operator", "plan", "started_t_ns", "started_utc_ns"]
)
def test_what_a_live_run_was_started_with_is_not_changed(raw, column):
    raw.execute(
        "INSERT INTO runs (specimen, operator, plan, state, reason, started_t_ns, started_utc_ns) "
        "VALUES (1, 'KL', '{}', 'ready', 'started', 0, 0)"
    )
    raw.commit()
    refused(raw, f"UPDATE runs SET {column} = 7 WHERE ended_t_ns IS NULL")


def test_a_second_live_run_is_refused_by_the_database_too(raw):
    start = (
        "INSERT INTO runs (specimen, operator, plan, state, reason, started_t_ns, started_utc_ns) "
        "VALUES (1, 'KL', '{}', 'ready', 'started', 0, 0)"
    )
    raw.execute(start)
    raw.commit()
    refused(raw, start)


def test_a_correction_needs_a_reason_and_a_known_weighing(raw):
    insert = "INSERT INTO masses (specimen, what, mass_g, t_ns, utc_ns, operator, corrects) VALUES "
    for values in ("(1, 'charge', 1, 1, 1, 'KL', 2)", "(1, 'lunch', 1, 1, 1, 'KL', NULL)"):
        with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
            raw.execute(insert + values)
