"""A dead card and a new computer, rehearsed with real processes."""

import json
import shutil
import subprocess
import sys
import time

import pytest

from ramphold.collector.archive import open_archive
from support.laboratory import Laboratory, until

pytestmark = pytest.mark.slow


@pytest.fixture
def lab(tmp_path):
    made = Laboratory(tmp_path / "lab")
    yield made
    made.close()


def ramphold(bench, *arguments):
    """A command in the bench's folder; its JSON."""
    done = subprocess.run(
        [sys.executable, "-m", "ramphold.cli", *map(str, arguments), "--json"],
        check=False, capture_output=True, text=True, cwd=bench.folder,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout)


def lose_the_card(bench):
    for path in bench.folder.glob("runs.sqlite3*"):
        shutil.rmtree(path) if path.is_dir() else path.unlink()


def without_doubt(lab, bench):
    """The archive has one numbering of the bench, all of it, and nothing refused."""
    with open_archive(lab.archive, read_only=True) as archive:
        (one,) = [one for one in archive.benches() if one.bench == bench.name]
        assert (one.in_force, archive.gaps(one), archive.quarantined()) == (True, [], [])
    config = lab.folder / "collector" / "collect.toml"
    assert ramphold(bench, "collect", "--config", config, "--status")["doubled"] == []
    return one.series


def test_backup_dead_card_restore_go_on_and_the_move_to_a_new_computer(lab, tmp_path):
    bench = lab.bench().filled(2).start().linked()
    lab.delivered(bench)
    copy = ramphold(bench, "backup", "--config", "bench.toml", "--to", tmp_path / "stick")["file"]
    bench.works_on()
    lab.delivered(bench)
    series = without_doubt(lab, bench)
    # The card dies, with a record that only the archive has.
    bench.kill()
    lose_the_card(bench)
    restored = ramphold(bench, "restore", copy, "--config", "bench.toml", "--archive", lab.archive,
                        "--bench", bench.name)  # fmt: skip
    assert restored["added"] > 0
    bench.start().linked()
    bench.works_on()
    lab.delivered(bench)
    assert without_doubt(lab, bench) == series
    # A new computer: the same configuration, the copy, and the old one never again.
    copy = ramphold(bench, "backup", "--config", "bench.toml", "--to", tmp_path / "stick")["file"]
    bench.stop()
    moved = lab.bench(bench.name, folder="new-computer")
    ramphold(moved, "restore", copy, "--config", "bench.toml")
    moved.filled(seed=7).start()
    lab.delivered(moved)
    assert without_doubt(lab, moved) == series


def test_without_any_copy_the_archive_alone_gives_a_bench_that_goes_on(lab):
    bench = lab.bench().filled(2).start().linked()
    lab.delivered(bench)
    series = without_doubt(lab, bench)
    bench.kill()
    lose_the_card(bench)
    restored = ramphold(bench, "restore", "--config", "bench.toml", "--archive", lab.archive,
                        "--bench", bench.name)  # fmt: skip
    assert (restored["waiting"], restored["findings"]) == (0, [])
    bench.start().linked()
    bench.works_on()
    lab.delivered(bench)
    assert without_doubt(lab, bench) == series


def test_the_file_alone_is_whole_once_the_press_is_idle(lab, tmp_path):
    bench = lab.bench().filled().start()
    bench.works_on()
    records = bench.rows("SELECT count(*) FROM records")
    log = bench.folder / "runs.sqlite3-wal"
    until(lambda: not log.exists() or log.stat().st_size == 0, timeout_s=15)
    time.sleep(0.2)
    shutil.copy(bench.database, tmp_path / "plain.sqlite3")
    bench.database = tmp_path / "plain.sqlite3"
    assert bench.rows("SELECT count(*) FROM records") == records
