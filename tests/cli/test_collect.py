"""`ramphold collect --status` and `ramphold report --archive`, on an archive that was filled."""

import json

import pytest

from ramphold.collector._message_filing import file_messages
from ramphold.collector.archive import open_archive
from ramphold.store import Store
from ramphold.wire import pack_envelope
from support.archived import arrived
from support.benches import FilledBench

# 2026-11-18 11:06:40 UTC
NOW_NS = 1_795_000_000 * 10**9


@pytest.fixture(scope="module")
def messages(tmp_path_factory):
    path = tmp_path_factory.mktemp("bench") / "bench.sqlite"
    bench = FilledBench(path)
    bench.sample("26-0417", stresses=[8000.0])
    bench.close()
    with Store.read(path) as store:
        numbers = range(1, store.records.newest() + 1)
        sent = [pack_envelope(store.outbox.envelope("press-1", number)) for number in numbers]
    return [arrived("ramphold/1/press-1/record", payload) for payload in sent]


@pytest.fixture
def filled(tmp_path):
    """A function that files messages; the archive's file and the configuration that names it."""

    def fill(messages):
        path, config = tmp_path / "archive.db", tmp_path / "collect.toml"
        config.write_text(f'archive = "{path}"\n[broker]\nhost = "localhost"\n')
        with open_archive(str(path)) as archive:
            file_messages(archive, messages, NOW_NS)
        return path, config

    return fill


def test_the_status_says_of_each_bench_what_is_filed_and_when_it_was_heard_of(
    ramphold, filled, messages
):
    path, config = filled(messages)
    done = ramphold("collect", "--config", config, "--status")
    assert (done.status, done.err) == (0, "")
    header, row, unsigned, last = done.out.splitlines()
    assert row.split() == [
        "press-1",
        "away",
        str(len(messages)),
        "0",
        "2026-11-18",
        "11:06:40",
        "-",
    ]
    assert header.split() == ["bench", "state", "filed", "waiting", "heard", "(UTC)", "missing"]
    assert unsigned == "press-1: not signed, so nobody vouches for its records"
    assert last == f"archive  {path}"


def test_the_answer_is_no_where_records_are_missing(ramphold, filled, messages):
    _, config = filled([messages[0], *messages[4:9], arrived("ramphold/1/press-1/record", b"{")])
    done = ramphold("collect", "--config", config, "--status")
    assert done.status == 1
    assert done.out.splitlines()[1].endswith("  2-4")
    (kept,) = [line for line in done.out.splitlines() if "quarantine" in line]
    expected = (
        "REFUSED  press-1: 1 messages in table `quarantine`, the newest of 2026-11-18 11:06:40: "
        "not a "
    )
    assert kept.startswith(expected)
    said = json.loads(ramphold("collect", "--config", config, "--status", "--json").out)
    assert said["benches"][0]["missing"] == [[2, 4]]
    assert said["benches"][0]["state"] is None


def test_the_answer_is_no_where_something_was_refused_until_somebody_has_looked_at_it(
    ramphold, filled, messages
):
    _, config = filled([*messages, arrived("ramphold/1/press-1/record", b"{")])
    assert ramphold("collect", "--config", config, "--status").status == 1
    done = ramphold("collect", "--config", config, "--clear", "press-1")
    assert (done.status, done.out) == (0, "1 refused messages of press-1 are deleted\n")
    done = ramphold("collect", "--config", config, "--status")
    assert (done.status, "REFUSED" in done.out) == (0, False)


def test_bad_input_is_told_in_one_line(ramphold, tmp_path):
    config = tmp_path / "collect.toml"
    config.write_text('archive = "a.db"\nbrocker = 1\n[broker]\nhost = "x"\n')
    done = ramphold("collect", "--config", config)
    assert (done.status, done.err) == (
        2, f"ramphold: {config}: brocker: unknown key\n",
    )  # fmt: skip
    config.write_text(f'archive = "{tmp_path}/no.db"\n[broker]\nhost = "x"\n')
    done = ramphold("collect", "--config", config, "--status")
    assert (done.status, done.err.count("\n")) == (2, 1)
    assert "no.db: can't be opened" in done.err


def test_a_report_is_made_of_the_archive(ramphold, filled, messages, tmp_path):
    path, _ = filled(messages)
    done = ramphold("report", "26-0417", "--archive", path, "--out", tmp_path / "out")
    assert (done.status, done.err) == (0, "")
    assert "26-0417" in (tmp_path / "out" / "26-0417-draft.html").read_text()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--issue", "--by", "MB"], "a report is issued at its bench"),
        (["--db", "bench.sqlite"], "expected --archive alone"),
        (["--bench", "press-9"], "there is no sample 26-0417"),
    ],
)
def test_what_an_archive_can_not_give_is_refused(ramphold, filled, messages, more, said):
    path, _ = filled(messages)
    out = path.with_name("out")
    ramphold("report", "26-0417", "--archive", path, "--out", out, *more).assert_refused(said)
    assert not out.exists()
