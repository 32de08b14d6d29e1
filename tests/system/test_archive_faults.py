"""The archive or its collector fails (disk full, server stopped, killed), and no record is lost."""

import pytest

from support.laboratory import Laboratory, until
from support.postgres import PostgresServer, find_postgres

pytestmark = pytest.mark.slow


@pytest.mark.root
def test_on_a_full_disk_records_wait_on_the_bench_until_there_is_room(tmp_path, mounted):
    disk = mounted("2m")
    made = Laboratory(tmp_path / "laboratory", archive=str(disk / "archive.db"))
    try:
        until(lambda: made.rows("SELECT count(*) FROM events"))
        ballast = disk / "ballast"
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
    """Write until the disk is full."""
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
        # The best of three: a busy machine takes its time without a server, too.
        assert min(second.works_on() for _ in range(3)) < 2
        postgres.start()
        made.delivered(first, second)
    finally:
        made.close()


def test_of_two_collectors_on_one_database_server_one_is_killed_and_all_is_filed_once(
    tmp_path, postgres
):
    made = Laboratory(tmp_path / "laboratory", archive=postgres.url, shared=True)
    try:
        other = made.new_collector("collector-2").start().linked()
        bench = made.bench().filled(6).start()
        until(lambda: made.filed(bench) > 40, every_s=0.005)
        other.kill()
        # What the broker had given to the other is gone, and is asked for once it has been missing
        # for a while; or the bench's own patience ends.
        made.delivered(bench, timeout_s=60)
        assert made.rows("SELECT count(*) FROM quarantine") == [(0,)]
    finally:
        made.close()
