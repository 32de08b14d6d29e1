"""Every table by its name, for general tools."""

import pytest

from ramphold.errors import InputError
from ramphold.sample import StressPlanned
from support.specimens import add_specimen
from support.tampering import received


def test_records_are_there_as_their_texts_and_each_kind_as_a_table_of_its_fields(store):
    sample = store.samples.add(received("26-1")).sample
    for psi in (4000.0, 5000.0):
        store.records.append(
            StressPlanned(sample=sample, operator="KL", utc_ns=2, stress_psi=psi, replicates=3)
        )
    columns, rows = store.tables.rows("records")
    assert columns == ("id", "sample", "body", "link")
    assert [row[:2] for row in rows] == [(1, 1), (2, 1), (3, 1)]
    columns, rows = store.tables.rows("record_stress_plan")
    found = [dict(zip(columns, row, strict=True)) for row in rows]
    assert [(one["record"], one["stress_psi"]) for one in found] == [(2, 4000.0), (3, 5000.0)]


def test_runs_with_their_commands_and_events_are_whole_tables(store, short):
    add_specimen(store)
    run = store.runs.begin(specimen=1, operator="KL", plan=short.tracker.plan, t_ns=0, utc_ns=5)
    short.write(store, run)
    for name, count in (
        ("runs", 1), ("commands", len(short.all("commands"))), ("events", len(short.all("events"))),
    ):  # fmt: skip
        columns, rows = store.tables.rows(name)
        assert len(list(rows)) == count
        assert columns[0] in {"id", "run"}


def test_every_table_that_is_named_can_be_read_and_no_other(store):
    assert {"runs", "commands", "events", "records", "record_mass"} <= set(store.tables.names)
    for name in store.tables.names:
        columns, rows = store.tables.rows(name)
        assert (len(columns) > 1, list(rows)) == (True, [])
    with pytest.raises(InputError, match="no table 'traces': expected one of runs, commands, ev"):
        store.tables.rows("traces")
