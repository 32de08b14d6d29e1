"""The demo as a program of its own, beside others."""

import json
import subprocess
import sys
import time

from click.testing import CliRunner

from ramphold.cli.check import command as check
from ramphold.store import Store


def test_a_reader_that_leaves_ends_the_demo_without_a_word():
    command = [sys.executable, "-m", "ramphold.cli", "demo", "--headless", "--speed", "60"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as demo:
        assert demo.stdout.readline().startswith(b"specimen")
        demo.stdout.close()
        assert demo.stderr.read() == b""
        assert demo.wait(30) in {0, 1}  # click's own status, where it is the first to notice


def demo_in(folder, *more, speed=100):
    words = ["demo", "--headless", "--speed", str(speed), "--folder", str(folder), *more]
    return subprocess.Popen(
        [sys.executable, "-m", "ramphold.cli", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def killed_after(folder, line):
    """Start a demo and kill it once it has said a line with these words."""
    with demo_in(folder) as demo:
        for said in demo.stdout:
            if line in said:
                demo.kill()
                break
        else:
            raise AssertionError(demo.stderr.read())


def test_a_demo_that_was_killed_goes_on_in_its_folder_and_says_what_is_kept(tmp_path):
    # Before the run, in the ramp, in the hold, after it.
    for line in ("specimen", "30.0 s", "150.0 s", "sieve"):
        killed_after(tmp_path, line)
    with demo_in(tmp_path, "--json", speed=5000) as demo:
        said, errors = demo.communicate(timeout=60)
    assert demo.returncode == 0, errors
    assert json.loads(said)["verdict"] == "pass"
    assert "Traceback" not in errors
    with Store.read(tmp_path / "runs.sqlite3") as store:
        runs = store.runs.page()
        records = store.records.after(0)
    assert runs[0].state == "complete"
    assert [run.state for run in runs].count("interrupted") == 2
    times = [record.utc_ns for record in records]
    assert times == sorted(times)  # the bench's calendar never goes back
    assert CliRunner().invoke(check, ["--records", str(tmp_path / "runs.sqlite3")]).exit_code == 0


def test_a_demo_killed_at_any_moment_of_its_start_starts_again(tmp_path):
    for tenths in (2, 4, 5, 6, 8):
        with demo_in(tmp_path) as demo:
            time.sleep(tenths / 10)
            demo.kill()
    with demo_in(tmp_path, speed=5000) as demo:
        said, errors = demo.communicate(timeout=60)
    assert demo.returncode == 0, errors
    assert "verdict: pass" in said


def test_a_second_demo_in_the_same_folder_is_refused_in_one_line_and_the_first_goes_on(tmp_path):
    with demo_in(tmp_path) as first:
        assert first.stdout.readline().startswith("specimen")
        with demo_in(tmp_path) as second:
            _, errors = second.communicate(timeout=30)
        assert errors.startswith(f"ramphold: {tmp_path}: a demo runs there")
        assert errors.count("\n") == 1
        assert second.returncode == 2
        said, errors = first.communicate(timeout=60)
    assert "verdict: pass" in said
    assert errors == ""
