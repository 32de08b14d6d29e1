"""What `ramphold setup` begins from and how it writes."""

import os
import tomllib
from pathlib import Path

import pytest

from ramphold.cli._setup_draft import NEW_BENCH
from ramphold.cli._setup_files import difference, replace_file
from ramphold.errors import InputError

EXAMPLE = Path(__file__).parents[2] / "systemd/bench.example.toml"


def test_a_new_configuration_begins_from_the_installers_example():
    assert tomllib.loads(NEW_BENCH) == tomllib.loads(EXAMPLE.read_text())


def test_a_file_is_replaced_with_its_rights_and_every_older_one_is_kept(tmp_path):
    path = tmp_path / "bench.toml"
    assert replace_file(path, "one") is None
    path.chmod(0o640)
    assert [replace_file(path, text).name for text in ("two", "three")] == [
        "bench.toml.before-1", "bench.toml.before-2",
    ]  # fmt: skip
    assert (path.read_text(), path.stat().st_mode & 0o777) == ("three", 0o640)
    assert [(tmp_path / f"bench.toml.before-{n}").read_text() for n in (1, 2)] == ["one", "two"]
    assert len(list(tmp_path.iterdir())) == 3


def test_a_writer_that_dies_at_any_step_leaves_the_old_file_or_the_new(tmp_path):
    """A child process ends at its n-th call of the system, for each n."""
    path = tmp_path / "bench.toml"
    path.write_text("old")
    seen = set()
    for step in range(60):
        child = os.fork()
        if not child:
            calls = iter(range(step))

            def counted(event, _, calls=calls):
                if event.split(".")[0] in {"os", "open", "shutil"} and next(calls, None) is None:
                    os._exit(1)

            __import__("sys").addaudithook(counted)
            replace_file(path, "new")
            os._exit(0)
        ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        seen.add(path.read_text())
        path.write_text("old")
        if not ended:
            break
    assert seen == {"old", "new"}
    assert not ended


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="can't be written"):
        replace_file(tmp_path / "file" / "bench.toml", "x")


def test_the_difference_shows_what_goes_and_what_comes(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text("a = 1\nb = 2\n")
    changes = list(difference(path, "a = 1\nb = 3\n"))
    assert changes[3:] == [" a = 1", "-b = 2", "+b = 3"]
    assert list(difference(path, "a = 1\nb = 2\n")) == []
