"""`ramphold study`: from a plan over the archive to the report."""

import csv
import io

import pytest
from msgspec import structs

from ramphold.collector._archive_writing import file_records
from ramphold.collector._message_check import check_message
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import open_archive
from ramphold.method.study_plan import plan_study
from ramphold.store import Store
from ramphold.wire import pack_envelope
from support.benches import FilledBench


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """An archive with a study of three operators by this plan, which was then written down."""
    folder = tmp_path_factory.mktemp("study")
    bench = FilledBench(folder / "bench.sqlite")
    bench.sample("26-0001", stresses=[8000.0], replicates=1)
    sample = bench.sample("26-0002", stresses=[], reference="RR-26")
    for one in plan_study(("KL", "MM", "RS"), 2, seed=3):
        bench.operator = one.participant
        bench.specimen(sample, 8000.0, f"{one.order}")
    bench.close()
    with Store.read(folder / "bench.sqlite") as store:
        envelopes = [
            store.outbox.envelope("p1", number) for number in range(1, store.records.newest() + 1)
        ]
    arrived = [check_message("ramphold/1/p1/record", pack_envelope(one)) for one in envelopes]
    url = str(folder / "archive.db")
    with open_archive(url) as archive:
        with archive.transaction():
            file_records(archive.database, [structs.replace(one) for one in arrived], 2 * 10**18)
        while work_out(archive):
            pass
    return url


def read(path):
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))


def where(archive):
    return "--archive", archive, "--reference", "RR-26", "--stress", "8000psi"


def test_a_study_goes_from_its_plan_over_the_archive_to_its_report(ramphold, planned, tmp_path):
    plan, found = tmp_path / "plan.csv", tmp_path / "found.csv"
    drawn = ("study", "plan", "KL", "MM", "RS", "--results", "2", "--seed", "3", "--out", plan)
    assert ramphold(*drawn).status == 0
    assert len(read(plan)) == 6
    compared = ("--between", "operators", "--plan", plan)
    outcome = ramphold("study", "collect", *where(planned), *compared, "--out", found)
    assert (outcome.status, outcome.err) == (0, "")
    rows = read(found)
    assert [row["label"] for row in rows] == list("123456")
    assert {row["sample"] for row in rows} == {"26-0002"}
    report = ramphold("study", "report", found, "--json").json
    means = {one["name"]: one["mean"] for one in report["cells"]}
    for name, mean in means.items():
        own = [float(row["result"]) for row in rows if row["laboratory"] == name]
        assert (len(own), mean) == (2, pytest.approx(sum(own) / 2))


def test_what_departs_from_the_plan_is_told_and_the_status_is_1(ramphold, planned, tmp_path):
    plan = tmp_path / "plan.csv"
    ramphold("study", "plan", "KL", "MM", "TU", "--results", "3", "--seed", "4", "--out", plan)
    outcome = ramphold(
        "study", "collect", *where(planned), "--between", "operators", "--plan", plan
    )
    assert outcome.status == 1
    assert len(list(csv.reader(io.StringIO(outcome.out)))) == 7
    assert "crush 7 by" in outcome.err
    assert "is missing, or does not count" in outcome.err


def test_a_study_between_presses_names_the_press(ramphold, planned):
    outcome = ramphold("study", "collect", *where(planned), "--between", "presses")
    assert {line.split(",")[0] for line in outcome.out.splitlines()[1:]} == {"P1"}


@pytest.mark.parametrize(("reference", "stress"), [("RR-27", "8000psi"), ("RR-26", "9000psi")])
def test_a_study_that_is_not_there_is_said_to_be_missing(ramphold, planned, reference, stress):
    outcome = ramphold(
        "study", "collect", "--archive", planned, "--reference", reference,
        "--stress", stress, "--between", "operators",
    )  # fmt: skip
    assert outcome.status == 2
    assert "no specimen at" in outcome.err
    assert reference in outcome.err


def test_results_that_are_not_worked_out_yet_are_not_reported(ramphold, planned, tmp_path):
    copy = tmp_path / "copy.db"
    with open_archive(planned) as archive:
        archive.database.write("VACUUM INTO ?", (str(copy),))
    with open_archive(str(copy)) as archive, archive.transaction():
        archive.database.write("INSERT INTO dirty SELECT series, sample FROM sample_results", ())
    outcome = ramphold("study", "collect", *where(str(copy)), "--between", "operators")
    assert outcome.status == 2
    assert "not worked out yet" in outcome.err
