"""A copy is whole, in one file with the keys beside it, and takes no other file's place."""

import errno
import os
import sqlite3
import stat

import pytest

from ramphold.errors import InputError, StoreError
from ramphold.keys.whole_file import name_once
from ramphold.store import Store
from ramphold.store.backup import (
    backups_of,
    check_whole,
    copy_database,
    new_database,
    newest_backup,
    note_backup,
    remove_database,
)
from support.specimens import add_specimen
from support.tampering import tamper


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


def keys_of(path):
    return path.with_name(f"{path.name}.keys")


@pytest.fixture
def bench(path):
    """A database that a daemon has open, and the keys beside it."""
    with Store.open(path) as store:
        add_specimen(store)
        (keys_of(path) / "people").mkdir(parents=True)
        (keys_of(path) / "own.key").write_bytes(b"secret")
        (keys_of(path) / "own.key.part").write_bytes(b"half")
        (keys_of(path) / "people" / "KL").write_bytes(b"sealed")
        yield path


@pytest.fixture
def target(tmp_path):
    return tmp_path / "copies" / "of" / "bench.sqlite3"


def test_a_copy_is_one_file_with_all_records_in_it(bench, target):
    copy_database(bench, target)
    check_whole(target)
    with Store.read(target) as copy:
        assert copy.records.newest() == 1
    with sqlite3.connect(target) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    connection.close()
    assert sorted(one.name for one in target.parent.iterdir()) == [
        "bench.sqlite3", "bench.sqlite3.keys",
    ]  # fmt: skip


def test_the_keys_are_copied_beside_it_for_their_owner_alone(bench, target):
    copy_database(bench, target)
    keys = keys_of(target)
    found = {str(one.relative_to(keys)): one for one in keys.rglob("*") if one.is_file()}
    # What was being written when it was copied is no key.
    assert {name: one.read_bytes() for name, one in found.items()} == {
        "own.key": b"secret", "people/KL": b"sealed",
    }  # fmt: skip
    assert {mode(one) for one in found.values()} == {0o600}
    assert (mode(keys), mode(keys / "people"), mode(target)) == (0o700, 0o700, 0o600)


def test_a_copy_may_go_into_a_folder_that_is_there(bench, target):
    target.parent.mkdir(parents=True)
    copy_database(bench, target)
    check_whole(target)


def test_no_copy_takes_the_place_of_another_file(bench, target):
    target.parent.mkdir(parents=True)
    target.write_bytes(b"precious")
    with pytest.raises(InputError, match=f"^{target}: is there already: move it away first$"):
        copy_database(bench, target)
    assert target.read_bytes() == b"precious"


def no_second_name(*_):
    raise PermissionError(errno.EPERM, "Operation not permitted")


def test_a_copy_goes_onto_a_stick_that_gives_no_file_a_second_name(bench, target, monkeypatch):
    monkeypatch.setattr(os, "link", no_second_name)
    copy_database(bench, target)
    check_whole(target)
    assert not list(target.parent.glob("*.part"))


def test_there_too_no_copy_takes_the_place_of_a_file_that_came_meanwhile(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "link", no_second_name)
    part, path = tmp_path / "a.part", tmp_path / "a"
    part.write_bytes(b"new")
    path.write_bytes(b"old")
    with pytest.raises(FileExistsError):
        name_once(part, path)
    assert path.read_bytes() == b"old"


def test_keys_that_can_not_be_copied_are_told_and_nothing_is_left_of_the_copy(bench, target):
    (keys_of(bench) / "gone").symlink_to("nowhere")
    with pytest.raises(StoreError, match="gone: the keys can't be copied: No such file"):
        copy_database(bench, target)
    assert list(target.parent.iterdir()) == []


def test_a_copy_that_breaks_a_rule_between_tables_is_damaged(path):
    with Store.open(path) as store:
        add_specimen(store)
    tamper(path, "UPDATE outbox SET record = 99", rules=False)
    with pytest.raises(StoreError, match=r": is damaged: .*row \d+ of outbox"):
        check_whole(path)


def test_a_database_in_the_making_gets_its_name_its_keys_and_its_group_at_the_end(bench, tmp_path):
    target = tmp_path / "restored.sqlite3"
    with new_database(target) as part:
        copy_database(bench, part)
        assert not target.exists()
    check_whole(target)
    # The daemon's group may read it, and nobody else.
    assert mode(target) == 0o640
    assert (keys_of(target) / "own.key").read_bytes() == b"secret"
    assert sorted(one.name for one in tmp_path.iterdir() if one.name.startswith(".")) == []


def test_keys_that_are_there_stay(bench, tmp_path):
    target = tmp_path / "restored.sqlite3"
    keys_of(target).mkdir()
    (keys_of(target) / "own.key").write_bytes(b"older")
    with new_database(target) as part:
        copy_database(bench, part)
    assert (keys_of(target) / "own.key").read_bytes() == b"older"
    assert sorted(one.name for one in tmp_path.iterdir() if one.name.startswith(".")) == []


def test_of_a_database_that_could_not_be_made_nothing_is_left(tmp_path):
    target = tmp_path / "restored.sqlite3"

    def fail():
        with new_database(target) as part:
            part.write_bytes(b"half")
            raise InputError("no more")

    with pytest.raises(InputError, match="no more"):
        fail()
    assert list(tmp_path.iterdir()) == []
    target.write_bytes(b"precious")
    with (
        pytest.raises(InputError, match=r"there already: first move away restored\.sqlite3$"),
        new_database(target),
    ):
        pass
    assert target.read_bytes() == b"precious"


@pytest.mark.parametrize("end", ["-wal", "-shm", "-journal"])
def test_no_database_is_made_beside_what_sqlite_keeps_of_another(tmp_path, end):
    # Fault: SQLite wrote the log of the damaged database into the restored one.
    target = tmp_path / "restored.sqlite3"
    left = target.with_name(f"{target.name}{end}")
    left.write_bytes(b"precious")
    keys_of(target).mkdir()
    told = f"^{left}: is there already: first move away {left.name}, {keys_of(target).name}$"
    with pytest.raises(InputError, match=told), new_database(target):
        pass
    assert left.read_bytes() == b"precious"


def test_what_sqlite_keeps_beside_a_database_is_removed_with_it(path):
    beside = [path.with_name(path.name + end) for end in ("", "-journal", "-wal", "-shm", ".lock")]
    for one in beside:
        one.write_bytes(b"x")
    keys_of(path).mkdir()
    other = path.with_name("other.sqlite")
    other.write_bytes(b"x")
    remove_database(path)
    remove_database(path)
    assert list(path.parent.iterdir()) == [other]


def test_the_newest_copy_is_known_by_its_note(path):
    assert newest_backup(path) is None
    note_backup(path, 5)
    note_backup(path, 7)
    assert newest_backup(path) == 7
    path.with_name(f"{path.name}.copied").write_text("yesterday")
    assert newest_backup(path) is None


def test_the_copies_of_a_bench_are_those_of_its_name_the_oldest_first_and_the_newest_last(tmp_path):
    for name in (
        "press-1-20261129T020000Z.sqlite3", "press-1-20261128T020000Z.sqlite3",
        "press-1-20370101T020000Z.sqlite3", "press-1-20370102T020000Z.sqlite3",
        "press-1-b-20261128T020000Z.sqlite3", "press-1-20261128T020000Z.sqlite3.keys",
    ):  # fmt: skip
        (tmp_path / name).touch()
    newest = tmp_path / "press-1-20261129T020000Z.sqlite3"
    assert [one.name for one in backups_of(tmp_path, "press-1", newest)] == [
        "press-1-20370101T020000Z.sqlite3", "press-1-20370102T020000Z.sqlite3",
        "press-1-20261128T020000Z.sqlite3", "press-1-20261129T020000Z.sqlite3",
    ]  # fmt: skip


def test_a_file_that_came_while_it_was_copied_stays_as_it_is(bench, target):
    making = new_database(target)
    copy_database(bench, making.__enter__())
    target.write_bytes(b"precious")
    with pytest.raises(InputError, match=r"is there already: move it away first$"):
        making.__exit__(None, None, None)
    assert target.read_bytes() == b"precious"


def test_a_copy_into_a_folder_that_can_not_be_made_is_told(bench, tmp_path):
    (tmp_path / "file").write_bytes(b"")
    target = tmp_path / "file" / "bench.sqlite3"
    # Fault: it was no error of ours.
    with pytest.raises(StoreError, match=f"^{target}: can't be written: "):
        copy_database(bench, target)
