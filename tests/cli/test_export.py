"""What is exported is what was kept, to the last digit; a tampered database is found."""

import csv
import hashlib
import io
import json
import math
import sqlite3
from datetime import datetime
from xml.etree import ElementTree as ET

import msgspec
import pytest

from ramphold.cli.export import _csv
from ramphold.method.uncertainty import stated
from ramphold.sample import Record, SampleRecord
from ramphold.store import Store
from ramphold.wire import link

NS = "{http://www.energistics.org/energyml/data/witsmlv2}"


@pytest.fixture
def export(ramphold, daemon, finished):
    """A function that exports from the database of a sample with two specimens."""
    assert finished == "26-0417"

    def run(*arguments, status=0):
        outcome = ramphold("export", *arguments, "--db", daemon.db)
        assert outcome.status == status, outcome.err
        return outcome.out

    return run


def rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def test_every_table_comes_out_as_csv_and_as_the_same_in_json(export):
    names = export("table").split()
    assert {"record_sample", "record_specimen", "runs", "events", "records", "record_mass"} <= set(
        names
    )
    for name in names:
        from_csv, from_json = (
            rows(export("table", name)),
            json.loads(export("table", name, "--json")),
        )
        as_text = [
            {key: "" if value is None else str(value) for key, value in row.items()}
            for row in from_json
        ]
        assert from_csv == as_text, name
    assert len(rows(export("table", "record_mass"))) == 18


def test_a_table_keeps_numbers_to_the_last_digit(export, daemon):
    masses = rows(export("table", "record_mass"))
    with Store.read(daemon.db) as store:
        kept = [one.mass_g for one in store.samples.record(1).masses]
    assert [float(row["mass_g"]) for row in masses if row["sample"] == "1"] == kept


def test_the_exported_trace_has_the_hash_of_the_runs_record(export, daemon, tmp_path):
    file = tmp_path / "trace.csv"
    export("trace", "2", "--out", file)
    with Store.read(daemon.db) as store:
        record = store.samples.record(1).specimens[1].run
        readings = store.runs.readings(2)
    assert hashlib.sha256(file.read_bytes()).hexdigest() == record.trace_sha256
    assert [int(row["raw"]) for row in rows(file.read_text())] == [one.raw for one in readings]
    as_json = json.loads(export("trace", "2", "--json"))
    assert [row["force_lbf"] for row in as_json] == [one.force_lbf for one in readings]


def test_the_chain_can_be_followed_from_the_exported_records_alone(export):
    before = {}
    for row in rows(export("table", "records")):
        before[row["sample"]] = link(before.get(row["sample"], ""), row["body"].encode())
        assert row["link"] == before[row["sample"]]
        assert msgspec.json.decode(row["body"], type=Record).record == int(row["id"])


def test_a_whole_sample_comes_back_from_its_json(export, daemon):
    back = msgspec.json.decode(export("sample", "26-0417"), type=SampleRecord)
    with Store.read(daemon.db) as store:
        assert back == store.samples.record(1)


def test_the_results_go_round_by_the_open_standards_names(export, daemon):
    """Element names and order: published, WITSML 2.1 schema."""
    root = ET.fromstring(export("sample", "#1", "--xml").encode())  # noqa: S314 - our own text
    with Store.read(daemon.db) as store:
        record = store.samples.record(1)
    assert (root.tag, root.get("uid")) == (f"{NS}StimISO13503_2Properties", "26-0417")
    assert [child.tag.removeprefix(NS) for child in root][:4] == [
        "KValue", "MeanParticleDiameter", "MedianParticleDiameter", "BulkDensity",
    ]  # fmt: skip

    def value(parent, name, uom):
        found = parent.find(NS + name)
        assert found.get("uom") == uom
        return float(found.text)

    crushed = root.findall(f"{NS}CrushTestData")
    points = [(value(one, "Stress", "psi"), value(one, "Fines", "%")) for one in crushed]
    # Ten digits: more are rounding of binary fractions.
    assert [pair for point in points for pair in point] == pytest.approx(
        [pair for point in record.counted for pair in point], rel=1e-9
    )
    sieved = {
        int(one.find(f"{NS}SieveNumber").text): value(one, "PercentRetained", "%")
        for one in root.findall(f"{NS}SieveAnalysisData")
    }
    total = sum(record.sieving.masses_g.values())
    assert sieved == pytest.approx(
        {sieve: 100 * mass_g / total for sieve, mass_g in record.sieving.masses_g.items()},
        rel=1e-9,
    )
    assert list(sieved) == [16, 20, 25, 30, 35, 40, 45, 50, 0]
    assert value(root, "BulkDensity", "g/cm3") == pytest.approx(
        record.density.bulk_density_g_cm3, rel=1e-9
    )
    assert root.find(f"{NS}KValue").text == "4"
    assert len({one.get("uid") for one in root.iter() if one.get("uid")}) == 1 + 2 + 9


def test_the_results_of_a_sample_come_out_as_the_report_has_them(
    export, ramphold, daemon, tmp_path
):
    from_csv, from_json = (
        rows(export("results", "26-0417")),
        json.loads(export("results", "26-0417", "--json")),
    )
    assert [{name: str(value) for name, value in one.items() if value not in (None, "")}
            for one in from_json] == [
        {name: text for name, text in one.items() if text} for one in from_csv
    ]  # fmt: skip
    told = ramphold("report", "26-0417", "--db", daemon.db, "--out", tmp_path)
    assert told.status == 0, told.err
    report = next(tmp_path.glob("*.html")).read_text()
    fines = [one for one in from_json if one["stress_psi"]]
    assert fines
    for one in fines:
        mean, reach = stated(one["value"], one["expanded_u"])
        assert f"{mean} ± {reach} %" in report


def test_everything_is_written_into_a_folder(export, tmp_path):
    told = export("all", tmp_path / "out" / "here")
    assert told.startswith("32 tables and 2 traces in ")
    written = {path.name for path in (tmp_path / "out" / "here").iterdir()}
    assert {"runs.csv", "record_mass.csv", "trace-1.csv", "trace-2.csv"} <= written
    export("all", tmp_path / "json", "--json")
    (sample,) = json.loads((tmp_path / "json" / "record_sample.json").read_text())
    assert (sample["sample"], sample["laboratory_number"]) == (1, "26-0417")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("table", "lunch"), "there is no table 'lunch': expected one of runs, commands"),
        (("table", "runs; DROP TABLE runs"), "there is no table"),
        (("trace", "9"), "there is no run 9"),
        (("sample", "26-9"), "there is no sample 26-9"),
        (("table", "runs", "--out", "/nowhere/at/all"), "can't be written: No such file"),
    ],
)
def test_bad_input_is_told_in_one_line(ramphold, daemon, finished, arguments, said):
    assert finished
    ramphold("export", *arguments, "--db", daemon.db).assert_refused(said)


def test_no_database_or_none_of_ours_is_told_in_one_line(ramphold, tmp_path):
    ramphold("export", "table").assert_refused("expected --db FILE, or --config FILE")
    ramphold("export", "table", "--db", tmp_path / "none").assert_refused("can't be opened")
    sqlite3.connect(tmp_path / "other").close()
    ramphold("export", "table", "--db", tmp_path / "other").assert_refused("no database of a bench")


def test_a_database_that_nobody_touched_is_told_so(ramphold, daemon, finished):
    assert finished
    checked = ramphold("check", "--records", daemon.db)
    assert (checked.status, checked.err) == (0, "")
    assert checked.out.endswith("nothing was changed\n")
    assert "26-0417 " in checked.out
    as_json = ramphold("check", "--records", daemon.db, "--json").json
    assert (as_json["runs"], as_json["findings"]) == (2, [])
    newest = as_json["chains"][1]["sha256"]
    assert ramphold("check", "--records", daemon.db, "--link", newest).status == 0
    lost = ramphold("check", "--records", daemon.db, "--link", "0" * 64)
    assert lost.status == 1
    assert "is in no chain" in lost.out


def test_an_edited_mass_is_found(ramphold, daemon, finished):
    assert finished
    other = sqlite3.connect(daemon.db)
    other.execute("DROP TRIGGER records_update")
    other.execute("UPDATE records SET body = replace(body, '39.5', '39.4') WHERE specimen = 1")
    other.commit()
    other.close()
    checked = ramphold("check", "--records", daemon.db)
    assert checked.status == 1
    assert "CHANGED  the rule records_update of the database was removed" in checked.out
    assert "of sample 1 does not follow from record" in checked.out
    assert checked.out.endswith("something was changed\n")


def test_what_to_check_must_be_said(ramphold):
    ramphold("check").assert_refused("expected --config FILE, or --records FILE")


def test_a_text_that_a_spreadsheet_would_run_is_made_harmless_and_numbers_stay_numbers(
    export, told
):
    # The four signs are those of the OWASP page on CSV injection, from memory.
    names = ["=HYPERLINK(1)", "+1-2", "-2+3", "@SUM(1)", " =1+1", "pit -3", "7"]
    for number, name in enumerate(names):
        told("sample", "add", f"C-{number}", "--client", name, "--size", "20/40", "--by", "KL")
    found = [one["client_reference"] for one in rows(export("table", "record_sample"))]
    assert found[-7:] == [
        "'=HYPERLINK(1)", "'+1-2", "'-2+3", "'@SUM(1)", "' =1+1", "pit -3", "7",
    ]  # fmt: skip
    whole = json.loads(export("table", "record_sample", "--json"))
    assert [one["client_reference"] for one in whole][-7:] == names


def test_a_negative_number_is_exported_as_a_number():
    (_, line) = _csv(["a", "b", "c"], [[-5, -0.5, None]])
    assert line == "-5,-0.5,\n"


def test_a_full_trace_has_seconds_utc_stress_and_doubts_beside_the_raw_columns(export, tmp_path):
    raw, full = tmp_path / "raw.csv", tmp_path / "full.csv"
    export("trace", "2", "--out", raw)
    export("trace", "2", "--full", "--out", full)
    plain, rows = (list(csv.reader(one.read_text().splitlines())) for one in (raw, full))
    assert [row[:7] for row in rows] == plain
    assert rows[0][7:] == ["t_s", "utc", "stress_psi", "doubted"]
    first, last = rows[1], rows[-1]
    elapsed_s = (int(last[0]) - int(first[0])) / 1e9
    assert float(last[7]) - float(first[7]) == pytest.approx(elapsed_s, abs=1e-9)
    times = [datetime.fromisoformat(row[8]) for row in (first, last)]
    assert (times[1] - times[0]).total_seconds() == pytest.approx(elapsed_s, abs=2e-6)
    for row in rows[1:]:
        # A bore of 2 in. is pi square inches.
        assert float(row[9]) == pytest.approx(float(row[5]) / math.pi, abs=6e-4)
        assert row[10] in {"True", "False"}
    as_json = json.loads(export("trace", "2", "--full", "--json"))
    assert list(as_json[0]) == rows[0]
