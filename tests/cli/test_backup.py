"""A copy of the records beside the daemon, and a bench made again of it or of the archive."""

import contextlib
import shutil
import sqlite3
from pathlib import Path

import pytest

from ramphold.clock import SystemClock
from ramphold.collector._message_check import check_message
from ramphold.collector._message_filing import IncomingMessage, file_messages
from ramphold.collector.archive import open_archive
from ramphold.keys.key_folder import KeyFolder
from ramphold.keys.person_key import PersonKeys
from ramphold.sample import ValueEntered
from ramphold.store import Store
from ramphold.store.backup import newest_backup
from ramphold.wire import pack_envelope
from support.benches import FilledBench

TOPIC = "ramphold/1/press-1/record"


@pytest.fixture
def bench(tmp_path):
    """A folder with a bench's configuration and its filled database."""
    folder = tmp_path / "bench"
    folder.mkdir()
    made = FilledBench(folder / "runs.sqlite3")
    made.certify()
    made.sample("26-0417", stresses=[8000.0], replicates=2)
    made.close()
    (folder / "bench.toml").write_text(
        'bench = "press-1"\npress.rating = "50000lbf"\n'
        'load = { kind = "indicator", port = "load", capacity = "50000lbf" }\n'
        f'store.path = "{folder}/runs.sqlite3"\ncontrol.socket = "{folder}/control.sock"\n'
    )
    with Store.open(folder / "runs.sqlite3") as store:
        store.outbox.series_for("press-1")
        store.heads.sign(KeyFolder.beside(store.path).make(1), 2)
    return folder


@pytest.fixture
def backed_up(ramphold, bench, tmp_path):
    """A function that makes a copy; its path."""

    def make(*options):
        done = ramphold("backup", "--config", bench / "bench.toml", "--to", tmp_path / "copies",
                        "--json", *options)  # fmt: skip
        assert done.status == 0, done.err
        return done.json["file"]

    return make


@pytest.fixture
def restored(ramphold, bench):
    """A function that restores into the bench's folder; the outcome."""

    def restore(*arguments):
        return ramphold("restore", *arguments, "--config", bench / "bench.toml", "--json")

    return restore


def everything(path):
    """All that a database holds, but for what SQLite keeps for itself."""
    with contextlib.closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as db:
        tables = db.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return {
            name: db.execute(f"SELECT * FROM {name}").fetchall()  # noqa: S608 - its own tables
            for (name,) in tables
        }


def lose(bench):
    """The card died: nothing is left of the database."""
    for path in bench.glob("runs.sqlite3*"):
        shutil.rmtree(path) if path.is_dir() else path.unlink()


def file(bench, archive):
    """File all that a bench has in an archive."""
    with Store.read(bench / "runs.sqlite3") as store, open_archive(str(archive)) as opened:
        sent = [
            pack_envelope(store.outbox.envelope("press-1", number))
            for number in range(1, store.records.newest() + 1)
        ]
        messages = [IncomingMessage(TOPIC, one, check_message(TOPIC, one)) for one in sent]
        receipts = file_messages(opened, messages, 5).receipts
    ((_, receipt),) = receipts.items()
    assert receipt.refused == ()
    return len(receipt.taken)


def add(bench, what="remark"):
    with Store.open(bench / "runs.sqlite3") as store:
        store.records.append(ValueEntered(sample=1, operator="KL", utc_ns=9, what=what, value=1.0))


def test_a_copy_holds_everything_while_the_daemon_has_the_database_open(bench, backed_up):
    with Store.open(bench / "runs.sqlite3") as daemon:
        daemon.records.append(ValueEntered(sample=1, operator="KL", utc_ns=9, what="x", value=1.0))
        copy = backed_up()
        expected = everything(bench / "runs.sqlite3")
    assert everything(copy) == expected
    assert sorted(path.name[-8:] for path in bench.parent.joinpath("copies").iterdir()) == [
        ".sqlite3", "te3.keys",
    ]  # fmt: skip


def test_the_copied_key_is_the_benchs_and_only_its_owner_may_read_it(bench, backed_up, tmp_path):
    copy = backed_up()
    folder = tmp_path / "copies" / f"{copy.rpartition('/')[2]}.keys"
    own = bench / "runs.sqlite3.keys"
    assert (folder / "own.key").read_bytes() == (own / "own.key").read_bytes()
    assert (folder / "own.key").stat().st_mode & 0o777 == 0o600
    assert folder.stat().st_mode & 0o777 == 0o700


def test_the_sealed_keys_of_people_are_in_the_copy(bench, backed_up, tmp_path):
    keys = PersonKeys(bench / "runs.sqlite3.keys")
    person = keys.add("MB", "M. Brandt", "manager", "1234", 1).person
    copy = backed_up()
    copied = PersonKeys(tmp_path / "copies" / f"{copy.rpartition('/')[2]}.keys")
    assert copied.open("MB", "1234", 2).person == person


def test_seven_copies_are_kept_and_those_of_other_benches_left_alone(bench, backed_up, tmp_path):
    copies = tmp_path / "copies"
    copies.mkdir()
    for day in range(1, 10):
        (copies / f"press-1-2026010{day}T023000Z.sqlite3").write_bytes(b"old")
    (copies / "press-2-20260101T023000Z.sqlite3").write_bytes(b"another's")
    (copies / "press-1-notes.txt").write_text("mine")
    newest = backed_up("--keep", "7")
    there = sorted(path.name for path in copies.glob("press-1-*.sqlite3"))
    assert there == [
        *(f"press-1-2026010{day}T023000Z.sqlite3" for day in range(4, 10)),
        newest.rpartition("/")[2],
    ]
    assert (copies / "press-2-20260101T023000Z.sqlite3").exists()
    assert (copies / "press-1-notes.txt").exists()
    assert bench.exists()


def test_a_calendar_that_is_wrong_removes_the_oldest_copies_and_never_the_one_just_made(
    backed_up, monkeypatch
):
    # Fault: with copies of a calendar that was ahead, each later one was removed at once.
    def copied(*days):
        made = []
        for day in days:
            monkeypatch.setattr(SystemClock, "utc_ns", lambda _, day=day: day * 86_400 * 10**9)
            made.append(backed_up("--keep", "3"))
        return made

    right, behind = copied(20_000, 20_001, 20_002), copied(19_960)
    copies = Path(behind[0]).parent
    assert sorted(map(str, copies.glob("*.sqlite3"))) == [*behind, *right[1:]]
    ahead, right = copied(24_000, 24_001, 24_002), copied(20_006, 20_007)
    assert sorted(map(str, copies.glob("*.sqlite3"))) == [*right, ahead[-1]]


def test_of_a_damaged_database_no_copy_is_made_and_none_is_removed(
    ramphold, bench, backed_up, tmp_path
):
    good = backed_up()
    path = bench / "runs.sqlite3"
    data = bytearray(path.read_bytes())
    for page in range(5, len(data) // 4096, 3):
        data[page * 4096 : page * 4096 + 512] = b"\xa5" * 512
    path.write_bytes(data)
    done = ramphold("backup", "--config", bench / "bench.toml", "--to", tmp_path / "copies",
                    "--keep", "1")  # fmt: skip
    assert done.status == 2
    assert done.err.count("\n") == 1
    assert [str(one) for one in (tmp_path / "copies").glob("*.sqlite3")] == [good]


def test_the_time_of_the_newest_copy_is_noted_beside_the_database(bench, backed_up):
    began_ns = SystemClock().utc_ns()
    database = bench / "runs.sqlite3"
    assert newest_backup(database) is None
    backed_up()
    assert began_ns <= newest_backup(database) <= SystemClock().utc_ns()
    database.with_name("runs.sqlite3.copied").write_bytes(b"\xff?")
    assert newest_backup(database) is None


def test_a_changed_record_is_copied_told_and_removes_no_older_copy(ramphold, bench, tmp_path):
    copies = tmp_path / "copies"
    copies.mkdir()
    (copies / "press-1-20260101T023000Z.sqlite3").write_bytes(b"old")
    with contextlib.closing(sqlite3.connect(bench / "runs.sqlite3")) as db, db:
        db.execute("DROP TRIGGER records_update")
        db.execute("UPDATE records SET body = replace(body, '\"KL\"', '\"XY\"') WHERE id = 5")
    done = ramphold("backup", "--config", bench / "bench.toml", "--to", copies, "--keep", "1")
    assert done.status == 1
    assert "CHANGED  record" in done.out
    assert len(list(copies.glob("*.sqlite3"))) == 2


def test_a_dead_card_is_replaced_by_the_newest_copy(bench, backed_up, restored):
    before = everything(bench / "runs.sqlite3")
    copy = backed_up()
    lose(bench)
    done = restored(copy)
    assert (done.status, done.err) == (0, "")
    assert everything(bench / "runs.sqlite3") == before
    assert KeyFolder.beside(bench / "runs.sqlite3").open()
    # It goes on.
    add(bench)


def test_nothing_is_restored_over_a_database(bench, backed_up, restored):
    copy = backed_up()
    before = everything(bench / "runs.sqlite3")
    told = "is there already: first move away runs.sqlite3, "
    restored(copy).assert_refused(told, ", runs.sqlite3.keys")
    assert everything(bench / "runs.sqlite3") == before


def test_nothing_is_restored_beside_the_log_of_a_daemon_that_was_killed(bench, backed_up, restored):
    copy, path = backed_up(), bench / "runs.sqlite3"
    log, found = path.with_name("runs.sqlite3-wal"), path.with_name("found")
    with Store.open(path) as daemon:
        daemon.records.append(ValueEntered(sample=1, operator="KL", utc_ns=9, what="x", value=1.0))
        shutil.copy(log, found)
    lose(bench)
    found.rename(log)
    restored(copy).assert_refused("is there already: first move away runs.sqlite3-wal")
    log.rename(found)
    assert restored(copy).status == 0
    assert everything(path) == everything(copy)


@pytest.mark.parametrize("spoil", [b"", b"no database at all" * 300], ids=["empty", "other"])
def test_what_is_no_whole_copy_is_not_restored_and_leaves_nothing(
    bench, backed_up, restored, tmp_path, spoil
):
    copy = backed_up()
    lose(bench)
    (tmp_path / "bad.sqlite3").write_bytes(spoil)
    assert restored(tmp_path / "bad.sqlite3").status == 2
    assert sorted(path.name for path in bench.iterdir()) == ["bench.toml"]
    assert restored(copy).status == 0


def test_of_the_archive_alone_a_bench_is_made_again_record_by_record(bench, restored, tmp_path):
    archive = tmp_path / "archive.db"
    with Store.read(bench / "runs.sqlite3") as store:
        traces = [store.runs.trace(run) for run in (1, 2)]
    before = everything(bench / "runs.sqlite3")
    filed = file(bench, archive)
    lose(bench)
    done = restored("--archive", archive, "--bench", "press-1")
    assert (done.status, done.err) == (0, "")
    assert (done.json["added"], done.json["waiting"], done.json["findings"]) == (filed, 0, [])
    after = everything(bench / "runs.sqlite3")
    for table in ("records", "runs", "commands", "events"):
        assert after[table] == before[table]
    with Store.read(bench / "runs.sqlite3") as store:
        assert [store.runs.trace(run) for run in (1, 2)] == traces
        assert store.samples.record(1).evidence is not None


def test_after_a_restore_the_numbering_goes_on_where_the_archive_ends(
    bench, backed_up, restored, tmp_path
):
    archive = tmp_path / "archive.db"
    copy = backed_up()
    add(bench, "after the copy")
    filed = file(bench, archive)
    lose(bench)
    done = restored(copy, "--archive", archive, "--bench", "press-1")
    assert (done.status, done.json["added"], done.json["waiting"]) == (0, 1, 0)
    add(bench, "after the restore")
    # The archive takes all as the numbering that it knows: no fork, no other series.
    assert file(bench, archive) == filed + 1
    with open_archive(str(archive), read_only=True) as opened:
        (one,) = opened.benches()
        assert (one.filed, one.newest, opened.gaps(one)) == (filed + 1, filed + 1, [])
        assert opened.quarantined() == []


def test_an_archive_with_a_gap_or_a_changed_record_restores_nothing(bench, restored, tmp_path):
    archive = tmp_path / "archive.db"
    file(bench, archive)
    lose(bench)
    for change, said in (
        ("UPDATE events SET body = replace(body, '\"KL\"', '\"XY\"') WHERE record = 5",
         "record 5 of the archive does not follow"),
        ("DELETE FROM events WHERE record = 3", "record 3 is missing in the archive"),
    ):  # fmt: skip
        with contextlib.closing(sqlite3.connect(archive)) as db, db:
            for (name,) in db.execute(
                "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'events'"
            ).fetchall():
                db.execute(f"DROP TRIGGER {name}")
            db.execute(change)
        restored("--archive", archive, "--bench", "press-1").assert_refused(said)
        assert sorted(path.name for path in bench.iterdir()) == ["bench.toml"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "expected BACKUP, --archive URL with --bench NAME, or both"),
        (["--archive", "a.db"], "expected --archive and --bench together"),
        (["--bench", "press-1"], "expected BACKUP, --archive URL"),
    ],
)
def test_what_is_to_be_restored_must_be_said(restored, arguments, said):
    restored(*arguments).assert_refused(said)
