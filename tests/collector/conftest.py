"""An archive on either database, and benches whose records go into it."""

import itertools
import os
import sqlite3

import psycopg
import pytest

from ramphold.collector import open_archive
from ramphold.collector._arrivals import EventArrived, RunArrived
from ramphold.sample import RunFinished
from ramphold.wire import decode_body
from support.benches import FilledBench
from support.postgres import find_postgres, postgres_server

SERIES = "a" * 32


@pytest.fixture(scope="session")
def postgres():
    """A running server; its absence is a failure where everything is said to be installed."""
    programs = find_postgres()
    if programs is None:
        if os.environ.get("CI"):
            pytest.fail("no PostgreSQL here: apt-get install postgresql")
        pytest.skip("no PostgreSQL here: apt-get install postgresql")
    with postgres_server(programs) as url:
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


def arrivals(path, *, bench="p1", series=SERIES):
    """Every record of a bench's database, as it arrives."""
    connection = sqlite3.connect(path)
    try:
        links, found = {}, []
        for number, text, link in connection.execute("SELECT id, body, link FROM records"):
            record = decode_body(text)
            run = None
            if isinstance(record, RunFinished):
                ((plan, begun, ended, assessment, trace),) = connection.execute(
                    "SELECT plan, started_t_ns, ended_t_ns, assessment, packed FROM runs "
                    "JOIN traces ON traces.run = runs.id WHERE runs.id = ?", (record.run,)
                )  # fmt: skip
                run = RunArrived(
                    run=record.run, specimen=record.specimen, state=record.state,
                    verdict=record.verdict, target_psi=record.target_psi,
                    peak_lbf=record.peak_lbf, ramp_rate_psi_min=record.ramp_rate_psi_min,
                    held_s=record.held_s, hold_mean_psi=record.hold_mean_psi,
                    started_utc_ns=record.started_utc_ns, ended_utc_ns=record.ended_utc_ns,
                    started_t_ns=begun, ended_t_ns=ended, readings=record.readings, plan=plan,
                    commands="[]", events="[]", assessment=assessment, trace=trace,
                )  # fmt: skip
            found.append(EventArrived(
                bench=bench, series=series, record=number,
                kind=type(record).__struct_config__.tag, sample=record.sample,
                specimen=getattr(record, "specimen", None),
                laboratory_number=getattr(record, "laboratory_number", None),
                operator=record.operator, utc_ns=record.utc_ns, body=text,
                previous=links.get(record.sample, ""), link=link, run=run,
            ))  # fmt: skip
            links[record.sample] = link
        return found
    finally:
        connection.close()


@pytest.fixture(scope="session")
def whole_bench(tmp_path_factory):
    """The database of a bench with one whole sample and two of the control sand."""
    path = tmp_path_factory.mktemp("bench") / "bench.sqlite"
    bench = FilledBench(path)
    bench.certify()
    bench.sample("26-0417")
    for number in ("C-1", "C-2"):
        bench.sample(number, stresses=[8000.0], replicates=2, role="control", reference="control")
    bench.close()
    return path


@pytest.fixture(scope="session")
def records(whole_bench):
    """Its records, as they arrive."""
    return arrivals(whole_bench)


@pytest.fixture
def look(archive):
    """Rows of a query."""
    return archive.database.rows
