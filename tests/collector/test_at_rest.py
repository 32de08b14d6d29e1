"""An archive that nobody has open is read where nothing can be written beside it."""

import os
import shutil
import sqlite3
import subprocess

import pytest

from ramphold.collector.archive import open_archive
from ramphold.errors import StoreError


@pytest.fixture
def closed(tmp_path):
    """An archive in a folder of its own."""
    path = tmp_path / "own" / "archive.db"
    path.parent.mkdir()
    open_archive(str(path)).close()
    return path


def read(path):
    with open_archive(str(path), read_only=True) as archive:
        assert archive.benches() == []
        with pytest.raises(StoreError):
            archive.database.write("DELETE FROM benches")


def left(path):
    return sorted(one.name for one in path.parent.iterdir())


def test_in_a_folder_of_somebody_else_it_is_read_and_nothing_is_left_there(closed):
    if os.geteuid() == 0:
        pytest.skip("root may write everywhere: see the test on a disk that nobody can write on")
    closed.chmod(0o444)
    closed.parent.chmod(0o555)
    try:
        read(closed)
        assert left(closed) == ["archive.db"]
    finally:
        closed.parent.chmod(0o755)


@pytest.mark.root
def test_on_a_disk_that_nobody_can_write_on_it_is_read(closed, tmp_path):
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = ["mount", "-t", "tmpfs", "-o", "size=4m", "ramphold", disk]
    if subprocess.run(mounted, check=False, capture_output=True).returncode:
        pytest.skip("a small disk can't be mounted here")
    try:
        shutil.copy(closed, disk)
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
        read(disk / "archive.db")
        assert left(disk / "archive.db") == ["archive.db"]
    finally:
        subprocess.run(["umount", disk], check=True)


def test_an_archive_in_use_is_read_as_it_is_with_what_was_just_committed(closed):
    with open_archive(str(closed)) as writing:
        with writing.transaction():
            writing.database.write(
                "INSERT INTO benches (series, bench, first_utc_ns, heard_utc_ns) "
                "VALUES ('a', 'p1', 1, 1)"
            )
        with open_archive(str(closed), read_only=True) as archive:
            assert [one.bench for one in archive.benches()] == ["p1"]


def test_a_file_that_is_not_there_is_not_made(tmp_path):
    with pytest.raises(StoreError, match="none"):
        open_archive(str(tmp_path / "none.db"), read_only=True)
    assert not (tmp_path / "none.db").exists()


def test_a_file_that_is_no_database_is_told(tmp_path):
    (tmp_path / "text.db").write_text("no database at all, but a text of some length\n" * 100)
    with pytest.raises(StoreError):
        open_archive(str(tmp_path / "text.db"), read_only=True)
    assert sqlite3.sqlite_version_info >= (3, 22)  # reads a database in use without writing
