"""The trial that gives the pacing its start outlives the daemon, and a broken file does no harm."""

import pytest
from msgspec.structs import replace

from ramphold.core import TRIAL, PacingStart, judge_trial
from ramphold.daemon.trial_file import KeptTrial, TrialFile
from ramphold.errors import StoreError


def kept(gain):
    trial = judge_trial([(step, []) for step in TRIAL])
    trial = replace(trial, start=PacingStart(gain_factor=gain))
    return KeptTrial(trial=trial, operator="ab", utc_ns=1)


def test_without_a_trial_the_pacing_starts_from_a_usual_press(tmp_path):
    assert TrialFile(tmp_path / "runs.sqlite3").start is None


def test_the_newest_trial_gives_the_start_from_now_on_and_after_a_restart(tmp_path):
    file = TrialFile(tmp_path / "runs.sqlite3")
    for gain in (1.1, 1.3):
        assert file.keep(kept(gain)) == tmp_path / "press-trial.json"
        assert file.start.gain_factor == gain
    assert TrialFile(tmp_path / "runs.sqlite3").start.gain_factor == 1.3


@pytest.mark.parametrize("text", ["", "{}", "\x00", '{"trial": 1}'])
def test_a_file_that_can_not_be_read_is_told_and_counts_as_none(tmp_path, text, caplog):
    (tmp_path / "press-trial.json").write_text(text)
    assert TrialFile(tmp_path / "runs.sqlite3").start is None
    assert "commission the press again" in caplog.text


def test_a_folder_that_can_not_be_written_is_told(tmp_path):
    with pytest.raises(StoreError, match=r"press-trial\.json can't be written: No such file"):
        TrialFile(tmp_path / "none" / "runs.sqlite3").keep(kept(1.0))
