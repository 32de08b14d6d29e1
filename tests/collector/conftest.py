"""An archive on either database, and benches whose records go into it."""

import itertools

import psycopg
import pytest
from msgspec import structs

from ramphold.collector._message_check import check_message
from ramphold.collector.archive import open_archive
from ramphold.store import Store
from ramphold.wire import pack_envelope
from support.benches import FilledBench
from support.postgres import find_postgres, postgres_server

SERIES = "a" * 32


@pytest.fixture(scope="session")
def postgres():
    """A running server; its absence is a failure where everything is said to be installed."""
    with postgres_server(find_postgres()) as url:
        yield url


_numbers = itertools.count()


@pytest.fixture(params=["sqlite", "postgres"])
def url(request, tmp_path):
    """Where an archive may be made: a file, or an empty database."""
    if request.param == "sqlite":
        return str(tmp_path / "archive.db")
    server = request.getfixturevalue("postgres")
    name = f"archive{next(_numbers)}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return server.replace("/postgres?", f"/{name}?")


@pytest.fixture
def archive(url):
    with open_archive(url) as opened:
        yield opened


@pytest.fixture(scope="session")
def whole_bench(tmp_path_factory):
    """The database of a bench with one whole sample and two of the control sand."""
    path = tmp_path_factory.mktemp("bench") / "bench.sqlite"
    bench = FilledBench(path)
    bench.certify()
    bench.sample("26-0417")
    bench.warn()
    for number in ("C-1", "C-2"):
        bench.sample(number, stresses=[8000.0], replicates=2, role="control", reference="control")
    bench.close()
    return path


@pytest.fixture(scope="session")
def envelopes(whole_bench):
    """Its records, as the bench sends them, in the order of their numbers."""
    with Store.read(whole_bench) as store:
        return [
            store.outbox.envelope("p1", number) for number in range(1, store.records.newest() + 1)
        ]


@pytest.fixture(scope="session")
def records(envelopes):
    """The same, as they arrive, in a series whose name is easy to tell."""
    found = [check_message("ramphold/1/p1/record", pack_envelope(one)) for one in envelopes]
    return [structs.replace(one, series=SERIES) for one in found]


@pytest.fixture
def look(archive):
    """Rows of a query."""
    return archive.database.rows
