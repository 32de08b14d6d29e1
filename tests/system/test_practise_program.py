"""`ramphold practise` in a terminal: killed, started twice, and without a place to keep it."""

import signal
import subprocess
import sys
import time

import pytest

from ramphold.testing import Terminal

pytestmark = pytest.mark.slow

PRACTISE = [sys.executable, "-m", "ramphold.cli", "practise", "--by", "KL", "--runs", "1"]


@pytest.fixture
def folder(tmp_path_factory):
    """A folder whose name leaves room for a socket's, which has at most 107 bytes."""
    return tmp_path_factory.mktemp("p")


def text(terminal):
    return b"".join(data for _, data in terminal.chunks).decode(errors="replace")


def until(terminal, words, within_s=60):
    for _ in range(within_s * 10):
        if words in text(terminal):
            return
        time.sleep(0.1)
    raise AssertionError(f"not shown: {words}\n{text(terminal)[-2000:]}")


def begun(folder, *options):
    """An exercise on its first screen, whose temporary files lie in a folder of the test's."""
    (folder / "tmp").mkdir(exist_ok=True)
    command = [*PRACTISE, "--keep", str(folder / "kept"), *options]
    terminal = Terminal(command, TMPDIR=str(folder / "tmp"))
    until(terminal, "press any key to begin")
    time.sleep(0.5)  # until the terminal no longer keeps keys for a line
    terminal.press("x")
    until(terminal, "runs on for 0.6 s after you let go")
    return terminal


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGHUP])
def test_an_exercise_that_is_ended_in_its_first_run_leaves_nothing_behind(folder, how):
    with begun(folder) as terminal:
        assert len(list((folder / "kept").iterdir())) == 2
        terminal.process.send_signal(how)
        assert terminal.process.wait(30) == 130
    assert list((folder / "kept").iterdir()) == []
    assert list((folder / "tmp").iterdir()) == []


def test_two_exercises_at_once_do_not_know_of_each_other(folder):
    with begun(folder) as first, begun(folder) as second:
        assert len(list((folder / "kept").glob("*.json"))) == 2
        first.process.terminate()
        assert first.process.wait(30) == 130
        assert second.process.poll() is None
        assert len(list((folder / "kept").glob("*.json"))) == 1
        second.process.terminate()
        second.process.wait(30)


def test_a_folder_that_can_not_be_written_is_told_before_the_first_run(tmp_path):
    (tmp_path / "kept").write_text("a file")
    with Terminal([*PRACTISE, "--keep", str(tmp_path / "kept")]) as terminal:
        assert terminal.process.wait(30) == 2
        until(terminal, "kept")
    assert "press any key" not in text(terminal)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--lever", "load"), "expected --config FILE, whose load is the lever"),
        (("--config", "x.toml"), "not used with key"),
        (("--lever", "load", "--config", "no.toml"), "no.toml"),
    ],
)
def test_a_lever_that_is_not_there_is_told_in_one_line(options, told):
    with Terminal([*PRACTISE, *options], columns=200) as terminal:
        assert terminal.process.wait(30) == 2
        until(terminal, told)
    assert "Traceback" not in text(terminal)


def test_without_a_terminal_it_says_so(tmp_path):
    done = subprocess.run(PRACTISE, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "practise needs a terminal" in done.stderr
