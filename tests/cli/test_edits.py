"""Whoever can write the bench's whole database, but not its key or the archive, is found out."""

import re
import shutil
import sqlite3
from pathlib import Path

import msgspec
import pytest

from ramphold.collector._archive_writing import file_records
from ramphold.collector._filed_trees import FiledTrees
from ramphold.collector._message_check import check_message
from ramphold.collector.archive import open_archive
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.key_folder import KeyFolder
from ramphold.publish._receipt_keeper import ReceiptKeeper
from ramphold.sample import ReportIssued, RunDecided
from ramphold.wire import pack_envelope
from support.benches import FilledBench
from support.edits import EDITS, SIGNED, forge

TABLE = Path(__file__).parent.parent / "bench" / "edits-table.txt"
UNFILED = 3


@pytest.fixture(scope="module")
def laboratory(tmp_path_factory):
    """A signed database with its keys, and an archive that has all but its newest records."""
    folder = tmp_path_factory.mktemp("laboratory")
    path = folder / "bench.sqlite3"
    keys = KeyFolder.beside(path)
    key = keys.make(1)
    bench = FilledBench(path)
    bench.certify()
    bench.warn()
    bench.person("MB", "M. Brandt", "manager")
    for number, more in (
        ("26-0417", {"stresses": [8000.0, 9000.0]}),
        ("26-0418", {"stresses": [8000.0]}),
        ("C-1", {"stresses": [8000.0], "role": "control"}),
    ):
        bench.sample(number, **more)
        keys.keep(bench.store.heads.sign(key, 5))
        if number == "26-0417":
            about = {"sample": 1, "operator": "MB", "utc_ns": 6}
            bench.answer_for(
                RunDecided(**about, run=1, specimen=1, counts=False, reason="the bed broke")
            )
            bench.answer_for(ReportIssued(**about, revision=1, sha256="ab" * 32))
    keys.keep(bench.store.heads.sign(key, 7) or bench.store.heads.newest())
    store, newest = bench.store, bench.store.records.newest()
    sent = [
        check_message("ramphold/1/p1/record", pack_envelope(store.outbox.envelope("p1", number)))
        for number in range(1, newest - UNFILED + 1)
    ]
    with open_archive(str(folder / "archive.db")) as archive, archive.transaction():
        file_records(archive.database, sent, 8)
        trees = FiledTrees(SigningKey.generate())
        receipt = trees.receipt(archive.database, sent[0].series, 9)
        trees.take(archive.database, "p1", sent[0].series, store.heads.newest(), 9)
    keeper = ReceiptKeeper()
    keeper.take(receipt)
    keeper.save(store)
    bench.close()
    return folder


@pytest.fixture
def copy(laboratory, tmp_path):
    shutil.copytree(laboratory, tmp_path / "copy")
    return tmp_path / "copy"


def masked(text):
    """The text without the random name of the series."""
    return re.sub(r"p1 [0-9a-f]{8}", "p1 ...", text)


def check(ramphold, folder, *more):
    path = folder / "bench.sqlite3"
    done = ramphold("check", "--records", path, "--json", *more)
    assert done.err == ""
    result = msgspec.json.decode(done.out)
    return done.status, [*result["findings"], *filter(None, [result["signed"]["unsigned"]])]


def edited(folder, edit, key=None):
    connection = sqlite3.connect(folder / "bench.sqlite3")
    forge(connection, edit, key)
    connection.close()


def edited_with_the_key(folder, edit):
    """Whoever has the key can write its folder, too."""
    keys = KeyFolder.beside(folder / "bench.sqlite3")
    edited(folder, edit, keys.open())
    for word in ("head", "receipt"):
        (keys.path / word).unlink()


def test_what_nobody_edited_is_found_unchanged_with_and_without_the_archive(ramphold, copy):
    assert check(ramphold, copy) == (0, [])
    assert check(ramphold, copy, "--archive", copy / "archive.db") == (0, [])


@pytest.mark.parametrize("name", EDITS)
def test_an_edit_without_the_key_is_found_by_the_file_and_with_the_archive(ramphold, copy, name):
    edited(copy, EDITS[name])
    status, alone = check(ramphold, copy)
    assert (status, alone != []) == (1, True)
    status, told = check(ramphold, copy, "--archive", copy / "archive.db")
    assert status == 1
    differs = [one for one in told if "filed of p1" in one]
    row = f"{name:<44} {alone[0]}\n{'':<44} {differs[0] if differs else 'not filed yet'}\n"
    assert masked(row) in masked(TABLE.read_text())


@pytest.mark.parametrize("name", [one for one in EDITS if "at the end" not in one
                                  and one != "the newest record cut off"])  # fmt: skip
def test_an_edit_of_filed_records_with_the_key_in_hand_is_found_with_the_archive(
    ramphold, copy, name
):
    edited_with_the_key(copy, EDITS[name])
    status, told = check(ramphold, copy, "--archive", copy / "archive.db")
    assert status == 1
    assert any("filed of p1" in one for one in told)


@pytest.mark.parametrize("name", SIGNED)
def test_what_a_person_signed_is_found_by_the_file_alone_with_the_benchs_key_in_hand(
    ramphold, copy, name
):
    edited_with_the_key(copy, EDITS[name])
    status, told = check(ramphold, copy)
    assert status == 1
    found = [one for one in told if "signed" in one]
    assert f"{name:<44} {found[0]}\n" in TABLE.read_text()


def test_a_numbering_that_was_renamed_is_found_by_its_first_record_or_its_key(ramphold, copy):
    connection = sqlite3.connect(copy / "bench.sqlite3")
    for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE name LIKE 'series_%'"):
        connection.execute(f"DROP TRIGGER IF EXISTS {name}")
    connection.execute("UPDATE series SET id = ?", ("0" * 32,))
    connection.commit()
    connection.close()
    edited(copy, EDITS["one charge made heavier"])
    status, told = check(ramphold, copy, "--archive", copy / "archive.db")
    assert status == 1
    assert any("are not those that were filed of p1" in one for one in told)


def test_an_archive_is_checked_by_itself_and_a_changed_one_is_found(ramphold, copy):
    path = copy / "archive.db"
    assert ramphold("check", "--archive", path).status == 0
    assert ramphold("check", "--records", path).out.endswith("nothing was changed\n")
    connection = sqlite3.connect(path)
    connection.execute("DROP TRIGGER events_update")
    connection.execute("UPDATE events SET body = replace(body, '39.5', '39.6') WHERE kind = 'mass'")
    connection.commit()
    connection.close()
    done = ramphold("check", "--archive", path)
    assert done.status == 1
    assert "was changed" in done.out
