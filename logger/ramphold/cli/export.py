"""`ramphold export`: everything that is kept, as files that other programs read."""

import csv
import io
import itertools
import math
import sys
from collections.abc import Iterable, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any

import click
import msgspec

from ramphold.cli._common import CommandGroup, json_option
from ramphold.cli._database_options import database_options, open_database, sample_number
from ramphold.cli._full_trace import FULL_HEADER, full_rows
from ramphold.cli._record_seals import write_sealed
from ramphold.core import Reading
from ramphold.core.trace import Trace
from ramphold.errors import InputError, StoreError
from ramphold.plain_text import harmless_cell
from ramphold.store import Store
from ramphold.store.record_seals import RecordSeals
from ramphold.wire import RunRecord, properties_xml
from ramphold.wire.packed_trace import TRACE_HEADER, trace_lines

_to_file = click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="A file, instead of the screen."
)


@click.group("export", cls=CommandGroup)
def command() -> None:
    """Write tables, traces and results from a database, beside the daemon or without one.

    Readings and masses come out to the last digit. SAMPLE is a laboratory number, or #7.
    """


@command.command("table")
@click.argument("name", required=False)
@_to_file
@database_options
@json_option
def table(
    *, name: str | None, out: Path | None, db: Path | None, config: Path | None, as_json: bool
) -> None:
    """Write the table NAME as CSV, or JSON with --json; without NAME, say which there are."""
    with open_database(db, config) as store, store.snapshot():
        if name is None:
            click.echo("\n".join(store.tables.names))
            return
        _write(out, _table_text(store, name, as_json=as_json))


@command.command("trace")
@click.argument("run", type=click.IntRange(min=1))
@_to_file
@click.option("--full", is_flag=True, help="Also seconds, UTC, stress, and what was doubted.")
@database_options
@json_option
def trace(
    *, run: int, out: Path | None, full: bool, db: Path | None, config: Path | None, as_json: bool
) -> None:
    """Write every reading of RUN, unchanged.

    The SHA-256 of the CSV file is the one that stands in the run's record. With --out the proof
    that the record is signed is written beside it, into FILE.seal. --full adds columns beside the
    raw ones; the hash is not that of such a file.
    """
    with open_database(db, config) as store, store.snapshot():
        found = store.runs.one(run)
        if full:
            _write(out, _full_text(found, store.runs.trace(run), as_json=as_json))
            return
        _write(out, _trace_text(store, run, as_json=as_json))
        if out is not None and not as_json:
            _seal(RecordSeals(store), out, run)


@command.command("sample")
@click.argument("sample")
@_to_file
@click.option("--xml", "as_xml", is_flag=True, help="Results as the open oilfield standard has it.")
@database_options
def sample(
    *, sample: str, out: Path | None, as_xml: bool, db: Path | None, config: Path | None
) -> None:
    """Write a whole sample as JSON, or its results as XML with --xml."""
    with open_database(db, config) as store, store.snapshot():
        record = store.samples.record(sample_number(store, sample))
    text = properties_xml(record) if as_xml else msgspec.json.encode(record) + b"\n"
    _write(out, [text.decode()])


@command.command("results")
@click.argument("sample")
@_to_file
@database_options
@json_option
def results(
    *, sample: str, out: Path | None, db: Path | None, config: Path | None, as_json: bool
) -> None:
    """Write every result with its uncertainty and the decision on it, as the report has them."""
    from ramphold.report import ReportedResult, reported_results  # noqa: PLC0415 - loads numpy

    with open_database(db, config) as store, store.snapshot():
        record = store.samples.record(sample_number(store, sample))
        found = reported_results(record, store.runs.trace)
    columns = [field.name for field in fields(ReportedResult)]
    rows = [[getattr(one, name) for name in columns] for one in found]
    _write(out, _json(columns, rows) if as_json else _csv(columns, rows))


@command.command("all")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@database_options
@json_option
def everything(*, folder: Path, db: Path | None, config: Path | None, as_json: bool) -> None:
    """Write every table, and the trace of every run that has ended, into FOLDER."""
    ending = "json" if as_json else "csv"
    with open_database(db, config) as store, store.snapshot():
        _make(folder)
        for name in store.tables.names:
            _write(folder / f"{name}.{ending}", _table_text(store, name, as_json=as_json))
        columns, rows = store.tables.rows("runs")
        place = columns.index("id"), columns.index("ended_t_ns")
        ended = [row[place[0]] for row in rows if row[place[1]] is not None]
        seals = RecordSeals(store)
        for run in ended:
            path = folder / f"trace-{run}.{ending}"
            _write(path, _trace_text(store, run, as_json=as_json))
            if not as_json:
                _seal(seals, path, run)
    click.echo(f"{len(store.tables.names)} tables and {len(ended)} traces in {folder}")


def _seal(seals: RecordSeals, path: Path, run: int) -> None:
    """Write the seal of a trace beside it; say so where the run has none yet."""
    record = seals.record_of_run(run)
    if record is None or (seal := seals.of(record)) is None:
        click.echo(f"run {run} has no seal: its end is not recorded, or not signed yet", err=True)
        return
    write_sealed(path, seal)


def _table_text(store: Store, name: str, *, as_json: bool) -> Iterable[str]:
    columns, rows = store.tables.rows(name)
    return _json(columns, rows) if as_json else _csv(columns, rows)


def _trace_text(store: Store, run: int, *, as_json: bool) -> Iterable[str]:
    found = store.runs.trace(run)
    if not as_json:
        return trace_lines(found)
    return _json(TRACE_HEADER.split(","), map(_values, found.readings()))


def _full_text(run: RunRecord, found: Trace, *, as_json: bool) -> Iterable[str]:
    rows = full_rows(run, found)
    return _json(FULL_HEADER, rows) if as_json else _csv(FULL_HEADER, rows)


def _values(one: Reading) -> list[Any]:
    """The columns of `TRACE_HEADER`; a missing force is null."""
    force_lbf = None if math.isnan(one.force_lbf) else one.force_lbf + 0.0
    return [one.t_ns, one.raw, one.exponent, one.unit, one.quality, force_lbf, one.line.hex()]


def _csv(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> Iterable[str]:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    for row in itertools.chain([columns], rows):
        writer.writerow([harmless_cell(one) for one in row])
        yield text.getvalue()
        text.seek(0)
        text.truncate()


def _json(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> Iterable[str]:
    """An array with an object a line."""
    before = "[\n"
    for row in rows:
        named = dict(zip(columns, row, strict=True))
        yield before + msgspec.json.encode(named).decode()
        before = ",\n"
    yield "[]\n" if before == "[\n" else "\n]\n"


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder} can't be made: {error.strerror}") from None


def _write(out: Path | None, parts: Iterable[str]) -> None:
    if out is None:
        sys.stdout.writelines(parts)
        return
    try:
        with out.open("w", encoding="utf-8", newline="") as file:
            file.writelines(parts)
    except StoreError:
        raise
    except OSError as error:
        raise InputError(f"{out} can't be written: {error.strerror}") from None
