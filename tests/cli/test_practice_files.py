"""An exercise is kept from its first run on, whatever ends it."""

import msgspec
import pytest
from msgspec import structs

from ramphold.cli._practice_files import PracticeFiles
from ramphold.errors import InputError
from ramphold.report.practice import Lever, Practice, PracticeRun

BEGUN = Practice(
    person="K/L",
    utc_ns=1_767_261_600 * 10**9,
    target_psi=4000.0,
    lever=Lever.KEY,
    seed=7,
    planned=2,
    runs=(),
)
RUN = PracticeRun(cued=True, rms_pct=0.4, overshoot_pct=0.5, hold_off_s=1.0, verdict="pass")


def test_each_run_is_on_the_disk_as_soon_as_it_is_made(tmp_path):
    files = PracticeFiles.begin(tmp_path / "new" / "folder", BEGUN)
    one = structs.replace(BEGUN, runs=(RUN,))
    files.keep(one)
    assert files.path.name == "practice-K_L-1767261600.json"
    assert msgspec.json.decode(files.path.read_bytes(), type=Practice) == one
    assert "1 of 1 pass" in files.path.with_suffix(".html").read_text()
    assert {path.suffix for path in files.path.parent.iterdir()} == {".json", ".html"}


def test_two_exercises_that_begin_in_one_second_do_not_overwrite_each_other(tmp_path):
    first, second = (PracticeFiles.begin(tmp_path, BEGUN) for _ in range(2))
    first.keep(structs.replace(BEGUN, runs=(RUN,)))
    second.keep(BEGUN)
    assert first.path != second.path
    assert msgspec.json.decode(first.path.read_bytes(), type=Practice).runs == (RUN,)


def test_an_exercise_without_a_run_leaves_nothing(tmp_path):
    PracticeFiles.begin(tmp_path, BEGUN).forget()
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_can_not_be_written_is_refused_before_the_first_run(tmp_path):
    (tmp_path / "file").write_text("")
    for folder in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(InputError, match="can't keep the result there: "):
            PracticeFiles.begin(folder, BEGUN)


def test_a_disk_that_fails_later_is_told_in_one_line(tmp_path):
    files = PracticeFiles.begin(tmp_path / "gone", BEGUN)
    files.forget()
    (tmp_path / "gone").rmdir()
    with pytest.raises(InputError, match=r"practice-K_L.*: can't keep the result: No such file"):
        files.keep(BEGUN)
