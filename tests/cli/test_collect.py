"""`ramphold collect --status` and `ramphold report --archive`, on an archive that was filled."""

import json
import re

import pytest

from ramphold.collector._archive_writing import file_records
from ramphold.collector._filed_trees import collector_changes, collector_key
from ramphold.collector._message_check import check_message
from ramphold.collector._message_filing import file_messages
from ramphold.collector.archive import open_archive
from ramphold.collector.config import load_config
from ramphold.keys.ed25519 import fingerprint
from ramphold.store import Store
from ramphold.wire import pack_envelope
from support.archived import arrived
from support.benches import FilledBench
from support.forging import retold
from support.pdf_text import shown

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
    header, row, unsigned, key, last = done.out.splitlines()
    assert key == "key      none yet: the collector makes it at its first start"
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
    assert "no.db: does not exist: expected a database" in done.err


def test_a_report_is_made_of_the_archive(ramphold, filled, messages, tmp_path):
    path, _ = filled(messages)
    done = ramphold("report", "26-0417", "--archive", path, "--out", tmp_path / "out")
    assert (done.status, done.err) == (0, "")
    assert "26-0417" in (tmp_path / "out" / "press-1-1-26-0417-draft.html").read_text()


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


@pytest.fixture
def disputed(filled, messages, tmp_path):
    """An archive with a numbering that contradicts what was filed, its config, a file of a PIN."""
    path, config = filled(messages)
    records = [check_message(one.topic, one.payload) for one in messages]
    with open_archive(str(path)) as archive, archive.transaction():
        told = retold(records, lambda body: body.replace('"KL"', '"XY"'))
        file_records(archive.database, told, NOW_NS + 1)
    (tmp_path / "pin").write_text("one long phrase\n")
    return path, config, tmp_path / "pin"


def test_a_dispute_is_told_with_both_stories_and_settled_by_a_person_who_signs(
    ramphold, disputed, tmp_path
):
    _, config, pin = disputed
    told = ramphold("collect", "--config", config, "--status")
    assert told.status == 1
    for text in ("DISPUTED  press-1 bbbbbbbb contradicts press-1", "from record 1 on",
                 "  filed    sample by KL", "  arrived  sample by XY", "  samples  26-0417",
                 "--decide bbbbbbbb filed|arrived|both"):  # fmt: skip
        assert text in told.out
    choice = ("--config", config, "--decide", "bbbbbbbb", "filed", "--reason", "forged")
    ramphold("collect", *choice).assert_refused("expected --by INITIALS")
    ramphold("collect", *choice, "--by", "MB", "--pin-file", pin).assert_refused(
        "MB has no key to sign with"
    )
    added = ramphold("person", "add", "MB", "--name", "M. Brandt", "--function", "head",
                     "--collect", config, "--pin-file", pin)  # fmt: skip
    assert added.status == 0, added.err
    assert "M. Brandt, head" in ramphold("person", "list", "--collect", config).out
    (tmp_path / "wrong").write_text("guess\n")
    ramphold("collect", *choice, "--by", "MB", "--pin-file", tmp_path / "wrong").assert_refused(
        "wrong PIN for MB: nothing was signed"
    )
    done = ramphold("collect", *choice, "--by", "MB", "--pin-file", pin)
    assert (done.status, done.out) == (0, "series bbbbbbbb: filed, signed by M. Brandt\n")
    assert ramphold("collect", "--config", config, "--status").status == 0
    assert "retired" in ramphold("person", "retire", "MB", "--collect", config).out


def test_a_disputed_sample_is_not_reported_unless_that_word_is_on_each_page(
    ramphold, disputed, tmp_path
):
    path, _, _ = disputed
    out = tmp_path / "out"
    report = ("report", "26-0417", "--archive", path, "--out", out)
    filed = ramphold(*report)
    assert filed.status == 0
    page = (out / "press-1-1-26-0417-draft.html").read_text()
    assert "Another story has arrived" in page
    assert "DISPUTED" not in page
    refused = ramphold(*report, "--bench", "b" * 32)
    assert (refused.status, refused.out) == (1, "")
    assert "26-0417 is disputed" in refused.err
    printed = ramphold(*report, "--bench", "b" * 32, "--disputed", "--pdf")
    assert printed.status == 0
    page = (out / "press-1-1-26-0417-draft-2.html").read_text()
    # At the head, and in the style of the foot of every printed page.
    assert page.count("DISPUTED") == 3
    text = shown((out / "press-1-1-26-0417-draft-2.pdf").read_bytes())
    pages = len(re.findall(r"Page\d+of", text))
    assert pages > 1
    # On each page's foot, and once more at the head.
    assert text.count("DISPUTED·Draft") == pages + 1


def test_the_collectors_key_is_renewed_by_a_named_person_and_signed_by_the_old_one(
    ramphold, filled, messages, tmp_path
):
    _, config = filled(messages[:3])
    status = ("collect", "--config", config, "--status")
    renew = ("key", "renew-collector", "--collect", config, "--by", "M. Brandt", "--reason", "old")
    ramphold(*renew).assert_refused("own.key is missing", "the first is made when")
    ramphold(*renew[:4]).assert_refused("Missing option '--by'")
    ramphold(*renew[:5], " ", *renew[6:]).assert_refused("expected --by and --reason with a text")
    loaded = load_config(config)
    old = collector_key(loaded, 5)
    done = ramphold(*renew)
    new = collector_key(loaded, 6)
    assert f"the collector's key is {fingerprint(new.public)}: start the collector" in done.out
    (change,) = collector_changes(loaded)
    assert (change.old, change.new, change.by) == (old.public, new.public, "M. Brandt")
    assert change.is_renewal
    assert f"key      {fingerprint(new.public)}\n" in ramphold(*status).out
    # Only a key that is gone is lost.
    ramphold(*renew, "--lost").assert_refused("own.key is there")
    (tmp_path / "archive.db.keys" / "own.key").unlink()
    ramphold(*renew).assert_refused("own.key is missing")
    assert f"{fingerprint(new.public)}: NO own.key, receipts are not" in ramphold(*status).out
    done = ramphold(*renew, "--lost")
    assert "at each bench a person then says `ramphold key take-collector`" in done.out
    _, loss = collector_changes(loaded)
    assert (loss.old, loss.is_loss) == (new.public, True)
    assert collector_key(loaded, 7).public == loss.new


def test_the_status_says_that_a_bench_signs_with_a_key_that_nobody_has_accepted(
    ramphold, filled, messages
):
    path, config = filled(messages)
    old, new = "ab" * 32, "cd" * 32
    with open_archive(str(path)) as archive, archive.transaction():
        archive.database.write("UPDATE benches SET fingerprint = ?, vouched = 3", (new,))
        archive.database.write(
            "INSERT INTO bench_keys (bench, fingerprint, accepted_by, utc_ns) "
            "VALUES ('press-1', ?, 'KL', 1)",
            (old,),
        )
    said = ramphold("collect", "--config", config, "--status").out
    assert f"press-1: 3 records are vouched for, and none that key {new} signs now" in said
    ramphold("collect", "--config", config, "--accept", "press-1", new, "--by", "KL")
    said = ramphold("collect", "--config", config, "--status").out
    assert "nobody" not in said
    assert "signs now" not in said
