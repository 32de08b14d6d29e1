"""Compares an archive with benches: record by record, run by run, hash by hash."""

import sqlite3
from dataclasses import dataclass, field

from ramphold.sample import RunFinished
from ramphold.wire import decode_body, link
from ramphold.wire.packed_trace import trace_sha256, unpack_trace

__all__ = ["Comparison", "compare", "kept"]


@dataclass
class Comparison:
    """The result; `faults` has a line for each difference and is empty if there is none."""

    records: int = 0
    runs: int = 0
    faults: list[str] = field(default_factory=list)


def kept(path):
    """A bench's records and traces, from its database."""
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as connection:
        ((series,),) = connection.execute("SELECT id FROM series ORDER BY number DESC LIMIT 1")
        records = {
            number: (link, body)
            for number, link, body in connection.execute("SELECT id, link, body FROM records")
        }
        traces = dict(connection.execute("SELECT run, packed FROM traces"))
    connection.close()
    return series, records, traces


def compare(archive, path, bench):
    """Compare the archive with one bench's database, for the series in force.

    The hashes are computed here, from the archive's rows.
    """
    series, records, traces = kept(path)
    rows = archive.database.rows
    seen = Comparison()
    filed = {
        number: (link, body, previous, owner)
        for number, link, body, previous, owner in rows(
            "SELECT record, link, body, previous, bench FROM events WHERE series = ?", (series,)
        )
    }
    runs = {
        number: (run, trace)
        for number, run, trace in rows(
            "SELECT record, run, trace FROM run_data WHERE series = ?", (series,)
        )
    }
    for number in sorted(records.keys() - filed.keys()):
        seen.faults.append(f"{bench}: record {number} is not filed")
    for number in sorted(filed.keys() - records.keys()):
        seen.faults.append(f"{bench}: record {number} was filed and is not on the bench")
    for number in sorted(filed.keys() & records.keys()):
        found, body, previous, owner = filed[number]
        seen.records += 1
        if (found, body) != records[number] or owner != bench:
            seen.faults.append(f"{bench}: record {number} was filed as something else")
        if link(previous, body.encode()) != found:
            seen.faults.append(f"{bench}: record {number} has a link that is not its text's")
        fact = decode_body(body)
        if isinstance(fact, RunFinished):
            seen.runs += 1
            run, trace = runs.pop(number, (None, None))
            if run != fact.run or trace_sha256(unpack_trace(trace)) != fact.trace_sha256:
                seen.faults.append(f"{bench}: run {fact.run} has not the trace that was recorded")
            if fact.run in traces and traces[fact.run] != trace:
                seen.faults.append(f"{bench}: run {fact.run} has other bytes than on the bench")
    seen.faults += [f"{bench}: record {number} has a run and is none" for number in runs]
    return seen
