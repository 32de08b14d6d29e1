"""The laboratory's page over an archive on either database."""

import psycopg
import pytest

from ramphold.browse.config import BrowseConfig
from ramphold.collector._message_filing import file_messages
from ramphold.collector._result_tables import work_out
from ramphold.collector.archive import open_archive
from ramphold.store import Store
from ramphold.wire import pack_envelope
from support.archived import arrived
from support.benches import FilledBench
from support.browsing import asked
from support.postgres import find_postgres, postgres_server

#: 2026-11-20; after everything that the bench did.
FILED = 1_795_132_800 * 10**9
HOSTILE = "<script>alert(1)</script>\"'&{{7*7}}\u202eevil"


@pytest.fixture(scope="session")
def messages(tmp_path_factory):
    """What a bench sent: a client's sample, one of a hostile client, two of the control sand."""
    path = tmp_path_factory.mktemp("bench") / "bench.sqlite"
    bench = FilledBench(path)
    bench.certify()
    bench.person("MB", "M. Brandt", "manager")
    bench.sample("26-0417")
    bench.sample("26-0418", stresses=[8000.0], reference=HOSTILE)
    bench.warn()
    for number in ("C-1", "C-2"):
        bench.sample(number, stresses=[8000.0], replicates=2, role="control", reference="control")
    bench.close()
    with Store.read(path) as store:
        return [
            arrived("ramphold/1/p1/record", pack_envelope(store.outbox.envelope("p1", number)))
            for number in range(1, store.records.newest() + 1)
        ]


def filled(url, messages):
    """An archive of what the bench sent."""
    with open_archive(url) as archive:
        file_messages(archive, messages, FILED)
        while work_out(archive):
            pass
    return url


@pytest.fixture(scope="session")
def sqlite_url(messages, tmp_path_factory):
    """That archive in a file; filled once, since the pages only read."""
    return filled(str(tmp_path_factory.mktemp("archive") / "archive.db"), messages)


@pytest.fixture(scope="session", params=["sqlite", "postgres"])
def url(request):
    """That archive as URL, in either database."""
    return request.getfixturevalue(f"{request.param}_url")


@pytest.fixture(scope="session")
def postgres_url(messages):
    """The same in PostgreSQL, filled once however often `url` goes from one to the other.

    Its absence is a failure where everything is said to be installed.
    """
    with postgres_server(find_postgres()) as server:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute("CREATE DATABASE browsed")
        yield filled(server.replace("/postgres?", "/browsed?"), messages)


@pytest.fixture(scope="module")
def ask(url):
    """A function that asks for a path below the pages; the answer of the whole application."""
    with asked(BrowseConfig(archive=url)) as get:
        yield get


@pytest.fixture(scope="session")
def series(url):
    """The series of the bench."""
    with open_archive(url, read_only=True) as archive:
        return archive.benches()[0].series
