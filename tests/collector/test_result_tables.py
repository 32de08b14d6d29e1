"""What is worked out of the records for whoever browses: tables without JSON, and views."""

from datetime import UTC, datetime

import pytest
from msgspec import structs

from ramphold.collector._archive_writing import file_records
from ramphold.collector._filed_trees import FiledTrees
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import open_archive
from ramphold.collector.archived_bench import UsesRead
from ramphold.collector.archived_sample import ArchivedSample, find_sample
from ramphold.errors import InputError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.merkle import MerkleTree
from ramphold.keys.signed_head import sign_head
from ramphold.method.control_chart import chart
from ramphold.report import Issue, document, html
from ramphold.sample import control_days
from ramphold.store import Store
from ramphold.wire import StateMessage
from support.archived import changed, keep
from support.traces import without_last_reading

LATER = 2_000_000_000_000_000_000
KEY = SigningKey.from_bytes(b"k" * 32)


def collect(archive, arrived, utc_ns=LATER):
    with archive.transaction():
        file_records(archive.database, arrived, utc_ns)
    while work_out(archive):
        pass


@pytest.fixture
def bench(whole_bench):
    with Store.read(whole_bench) as store:
        yield store


def test_a_sample_of_the_archive_is_the_sample_of_the_bench(archive, records, bench):
    collect(archive, records)
    sample = find_sample(archive, "26-0417")
    assert sample.record() == bench.samples.record(1)
    assert sample.bench().equipment[0].uses == 13
    assert sample.bench().equipment == bench.bench.record().equipment
    assert {one.check.name: one.uses > 9 for one in sample.bench().equipment} == {
        "A": True, "S40": True,
    }  # fmt: skip
    assert [one.seen_by for one in sample.bench().warnings] == ["KL"]
    assert sample.bench().laboratory is not None
    for run in (1, 9):
        start_ns = bench.runs.one(run).started_t_ns
        assert sample.trace(run) == bench.runs.trace(run).since(start_ns)
        assert len(sample.trace(run)) > 100
    assert list(sample.findings()) == []


@pytest.mark.parametrize("first", [slice(None, 60), slice(None, None, 2), slice(40, None)])
def test_a_bench_that_is_read_on_is_the_bench_that_is_read_anew(archive, records, bench, first):
    # In order, with gaps that are filled later, and from behind.
    read = UsesRead()
    collect(archive, records[first])
    ArchivedSample(archive, records[0].series, 1).bench(read)
    collect(archive, records)
    sample = find_sample(archive, "26-0417")
    assert sample.bench(read) == sample.bench()
    assert sample.bench(read).equipment == bench.bench.record().equipment


@pytest.mark.slow
def test_a_report_of_the_archive_is_the_report_of_the_bench(archive, records, bench):
    collect(archive, records)
    sample = find_sample(archive, "26-0417")
    issue = Issue(utc_ns=LATER)
    assert html(document(sample.record(), sample.trace, issue, [])) == html(
        document(bench.samples.record(1), bench.runs.trace, issue, [])
    )


def test_the_views_say_what_the_sample_comes_to(archive, records, bench, look):
    collect(archive, records)
    found = bench.samples.record(1).evidence.found
    assert found.crush_class == "9K"
    assert look(
        "SELECT bench, laboratory_number, size, state, conforms, crush_class, specimens, counted, "
        "trouble FROM samples WHERE role = 'client'"
    ) == [("p1", "26-0417", "20/40", "reviewed", 1, "9K", 9, 9, "")]
    assert look("SELECT bulk_density_g_cm3 FROM samples WHERE role = 'client'") == [(1.6,)]
    assert look(
        "SELECT stress_psi, specimens, mean_pct, sd_pct FROM stresses "
        "WHERE laboratory_number = '26-0417' ORDER BY stress_psi"
    ) == [
        (one.stress_psi, one.n, round(one.mean_pct, 3), round(one.sd_pct, 3))
        for one in found.points
    ]
    assert look("SELECT laboratory_number, crush_class FROM classes WHERE crush_class = '9K'") == [
        ("26-0417", "9K")
    ]
    assert look("SELECT count(*), min(crushed) FROM fines") == [(13, started(bench, 1))]


def started(bench, run):
    at = datetime.fromtimestamp(bench.runs.one(run).started_utc_ns // 10**9, UTC)
    return at.strftime("%Y-%m-%d %H:%M:%S")


def test_each_run_is_a_row_with_its_verdict_and_its_time_as_text(archive, records, bench, look):
    collect(archive, records)
    assert look(
        "SELECT run, laboratory_number, state, verdict, target_psi, started FROM runs "
        "ORDER BY run LIMIT 2"
    ) == [
        (1, "26-0417", "complete", "pass", 8000.0, started(bench, 1)),
        (2, "26-0417", "complete", "pass", 8000.0, started(bench, 2)),
    ]


def test_the_control_chart_of_the_view_is_that_of_the_method(archive, records, bench, look):
    collect(archive, records)
    days = control_days(bench.bench.control_points())
    base = chart([day.mean_pct for day in days])
    rows = look(
        "SELECT mean_pct, n, day, base_days, centre_pct, sigma_pct, beyond FROM control_chart "
        "ORDER BY crushed"
    )
    expected = [round(one, 3) for one in (base.centre, base.sigma)]
    assert rows == [
        (round(day.mean_pct, 3), day.n, number, 2, *expected, 0)
        for number, day in enumerate(days, 1)
    ]
    assert len(rows) == 2


def test_a_sample_is_worked_out_again_after_every_record_of_it_and_no_other(archive, records, look):
    last = records[-1]
    collect(archive, records[:-1])
    assert look("SELECT state FROM samples WHERE laboratory_number = 'C-2'") == [("in test",)]
    with archive.transaction():
        file_records(archive.database, [last], LATER)
    assert look("SELECT series, sample FROM dirty") == [(last.series, last.record.sample)]
    assert work_out(archive) == 1
    assert work_out(archive) == 0
    assert look("SELECT state FROM samples WHERE laboratory_number = 'C-2'") == [("reviewed",)]


def test_a_sample_whose_records_come_out_of_order_is_right_in_the_end(archive, records, look):
    collect(archive, [one for one in records if one.number % 2])
    assert {row[0] for row in look("SELECT trouble FROM samples")} <= {"records are missing"}
    collect(archive, [one for one in records if not one.number % 2])
    assert look("SELECT laboratory_number, crush_class, trouble FROM samples ORDER BY sample") == [
        ("26-0417", "9K", ""), ("C-1", "8K", ""), ("C-2", "8K", ""),
    ]  # fmt: skip


def test_a_sample_that_can_not_be_worked_out_says_so_and_holds_up_no_other(archive, records, look):
    odd = [
        changed(one, body=one.message.body.replace("ISO 13503-2:2024", "no such edition"))
        if getattr(one.record, "laboratory_number", None) == "C-1"
        else one
        for one in records
    ]
    collect(archive, odd)
    rows = look("SELECT laboratory_number, trouble FROM samples ORDER BY sample")
    assert [(number, text[:19]) for number, text in rows] == [
        ("26-0417", ""), ("C-1", "can't be worked out"), ("C-2", ""),
    ]  # fmt: skip


def test_a_bench_whose_numbering_began_anew_is_shown_once(archive, records, look):
    collect(archive, records)
    anew = [structs.replace(one, series="b" * 32) for one in records]
    # Until all is there, the one that was filed stands.
    collect(archive, anew[1:], LATER + 10**9)
    assert look("SELECT series FROM benches_in_force") == [("a" * 32,)]
    collect(archive, anew[:1], LATER + 10**9)
    assert look("SELECT series FROM benches_in_force") == [("b" * 32,)]
    assert look("SELECT count(*) FROM samples") == [(3,)]
    assert find_sample(archive, "26-0417").series == "b" * 32


def sign(archive, records, series, bench):
    links = [one.message.link for one in records]
    head = sign_head(KEY, "head", len(links), MerkleTree.of(links).root(), 5)
    with archive.transaction():
        FiledTrees(None).take(archive.database, bench, series, head, LATER)


def test_a_bench_that_was_given_another_name_is_shown_once_and_under_that(archive, records, look):
    gone = StateMessage(online=False, newest=len(records))
    collect(archive, records)
    keep(archive, gone, 1, LATER)
    sign(archive, records, "a" * 32, "p1")
    renamed = [structs.replace(one, bench="p9", series="b" * 32) for one in records]
    collect(archive, renamed, LATER + 60 * 10**9)
    assert look("SELECT bench, standing FROM benches_in_force ORDER BY 1") == [
        ("p1", "in force"), ("p9", "disputed"),
    ]  # fmt: skip
    assert look("SELECT DISTINCT bench FROM samples") == [("p1",)]
    # The key that signed both shows that it is one bench.
    sign(archive, records, "b" * 32, "p9")
    # The broker repeats the old state for ever, to each collector that connects.
    keep(archive, gone, 1, LATER + 86_400 * 10**9)
    assert look("SELECT series, bench FROM benches_in_force") == [("b" * 32, "p9")]
    assert look("SELECT bench, count(*) FROM samples GROUP BY bench") == [("p9", 3)]
    assert look("SELECT bench, count(*) FROM runs GROUP BY bench") == [("p9", 13)]
    assert find_sample(archive, "26-0417").series == "b" * 32


def test_a_sample_is_found_by_its_number_on_the_bench_and_told_apart_by_the_bench(archive, records):
    collect(archive, records)
    other = [structs.replace(one, bench="p2", series="c" * 32) for one in records]
    other[0] = changed(other[0], link="f" * 64)
    collect(archive, other)
    with pytest.raises(InputError, match=r"more than once: name one, --bench: p1 .*, p2"):
        find_sample(archive, "26-0417")
    assert find_sample(archive, "26-0417", "p2").series == "c" * 32
    assert find_sample(archive, "#2", "p1").record().sample.laboratory_number == "C-1"
    assert find_sample(archive, "#2", "c" * 32).series == "c" * 32
    for number, bench in (("26-9", None), ("#77", "p1"), ("26-0417", "p3")):
        with pytest.raises(InputError, match="there is no sample"):
            find_sample(archive, number, bench)


def test_a_record_that_was_changed_in_the_archive_is_told(archive, records):
    other = [
        changed(one, body=one.message.body.replace("39.5", "39.6")) if one.number == 40 else one
        for one in records
    ]
    number = next(one.number for one in other if one.record.sample == 1 and one.number > 60)
    collect(archive, [one for one in other if one.number != number])
    said = list(ArchivedSample(archive, "a" * 32, 1).findings())
    assert said[-1] == (
        f"records of the sample between {number - 1} and {number + 1} are missing or changed"
    )


def test_a_run_whose_rows_or_readings_were_changed_in_the_archive_is_told(archive, records):
    def spoilt(one):
        run = one.message.run
        if run is None or one.record.run > 3:
            return one
        trace = without_last_reading(run.trace)
        rows = structs.replace(run.rows, plan="{}")
        how = {1: {"rows": rows}, 2: {"trace": trace}, 3: {"trace": b"no trace"}}
        return changed(one, run=structs.replace(run, **how[one.record.run]))

    collect(archive, [spoilt(one) for one in records])
    sample = find_sample(archive, "26-0417")
    first, second, third = sample.findings()
    assert first == "run 1: plan, commands, events or assessment were changed"
    other = "its readings are not those that were recorded: "
    assert second == f"run 2: {other}a trace of 1825 readings: expected 1826"
    assert third.startswith(f"run 3: {other}not a packed trace")
    assert list(sample.trace(3).t_s) == []


def test_a_run_whose_rows_are_no_json_any_more_is_told_and_has_no_trace(tmp_path, records):
    with open_archive(str(tmp_path / "archive.db")) as archive:
        collect(archive, records)
        with archive.transaction():
            archive.database.write("DROP TRIGGER run_data_update")
            archive.database.write("UPDATE run_data SET commands = '[' WHERE run = 1")
        sample = find_sample(archive, "26-0417")
        assert list(sample.findings()) == [
            "run 1: plan, commands, events or assessment were changed"
        ]
        assert len(sample.trace(1)) == 0
