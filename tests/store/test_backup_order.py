"""A copy that has its name is on the disk, whatever happens to the power."""

import os
from pathlib import Path

import pytest

from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.store.backup import check_whole, copy_database, note_backup
from support.specimens import add_specimen


def test_a_copy_gets_its_name_once_it_is_on_the_disk_and_its_folder_follows(
    path, tmp_path, monkeypatch
):
    done, fsync, link = [], os.fsync, os.link

    def noted_fsync(number):
        done.append(("on the disk", Path(f"/proc/self/fd/{number}").readlink().name))
        fsync(number)

    def noted_link(old, new):
        done.append(("named", Path(new).name))
        link(old, new)

    with Store.open(path) as store:
        add_specimen(store)
    monkeypatch.setattr(os, "fsync", noted_fsync)
    monkeypatch.setattr(os, "link", noted_link)
    copy_database(path, tmp_path / "copies" / "copy.sqlite3")
    assert done == [
        ("on the disk", ".copy.sqlite3.part"),
        ("named", "copy.sqlite3"),
        ("on the disk", "copies"),
    ]


def test_a_note_of_a_copy_that_can_not_be_written_is_told_in_one_line(tmp_path):
    note = tmp_path / "gone" / "bench.sqlite3.copied"
    with pytest.raises(StoreError, match=f"^{note}: can't be written: No such file"):
        note_backup(tmp_path / "gone" / "bench.sqlite3", 1)


def test_a_file_that_is_no_database_is_no_copy(path):
    path.write_bytes(b"sieve,mass_g\n20,0.31\n" * 200)
    with pytest.raises(StoreError, match=f"^{path}: is not a database"):
        check_whole(path)
