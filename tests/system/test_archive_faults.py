"""The archive fails: its disk is full, its database server is gone. Nothing is lost by it."""

import subprocess

import pytest

from support.laboratory import Laboratory, until
from support.postgres import PostgresServer, find_postgres

pytestmark = pytest.mark.slow


@pytest.fixture
def small_disk(tmp_path):
    """A disk of 2 MB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = ["mount", "-t", "tmpfs", "-o", "size=2m", "ramphold", disk]
    if subprocess.run(mounted, check=False, capture_output=True).returncode:
        pytest.skip("only root may mount a small disk")
    yield disk
    subprocess.run(["umount", disk], check=True)


def test_on_a_full_disk_records_wait_on_the_bench_until_there_is_room(tmp_path, small_disk):
    made = Laboratory(tmp_path / "laboratory", archive=str(small_disk / "archive.db"))
    try:
        until(lambda: made.rows("SELECT count(*) FROM events"))
        ballast = small_disk / "ballast"
        fill(ballast)
        bench = made.bench().filled(4).start()
        until(lambda: "nothing is filed" in made.collector.log())
        assert bench.outbox()[0] > 0
        assert made.collector.running()
        assert bench.works_on() < 2
        ballast.unlink()
        made.delivered(bench)
    finally:
        made.close()


def fill(path):
    """Write until there is no room."""
    with path.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            pass


@pytest.fixture
def postgres():
    server = PostgresServer(find_postgres())
    server.start()
    yield server
    server.close()


def test_a_database_server_that_stops_is_waited_for(tmp_path, postgres):
    made = Laboratory(tmp_path / "laboratory", archive=postgres.url)
    try:
        first, second = made.bench().filled().start(), made.bench().filled()
        made.delivered(first)
        postgres.stop()
        second.start()
        until(lambda: "nothing is filed" in made.collector.log())
        assert second.outbox()[0] > 0
        assert second.works_on() < 2
        postgres.start()
        made.delivered(first, second)
    finally:
        made.close()
