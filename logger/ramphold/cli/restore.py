"""`ramphold restore`: a bench's database from a copy, from the laboratory's archive, or both."""

from collections.abc import Iterator
from pathlib import Path

import click
from msgspec import Struct

from ramphold.cli._common import config_option, json_option, show
from ramphold.collector.archive import Archive, BenchSeries, open_archive
from ramphold.daemon.config import load_config
from ramphold.errors import InputError
from ramphold.store import Store
from ramphold.store.backup import copy_database, new_database
from ramphold.store.filed_records import FiledRecord, add_filed


class RestoreResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command: records in all, and how many of them the archive added."""

    file: str
    records: int
    runs: int
    added: int
    waiting: int
    findings: list[str]


@click.command("restore")
@click.argument("backup", required=False, type=click.Path(path_type=Path))
@config_option
@click.option("--archive", help="The laboratory's archive, a file or a PostgreSQL URL.")
@click.option("--bench", help="The name of the bench in the archive, or one of its series.")
@json_option
def command(
    *, backup: Path | None, config: Path, archive: str | None, bench: str | None, as_json: bool
) -> None:
    """Make the database that the configuration names, where there is none.

    It is made of BACKUP, a copy that `ramphold backup` made, of the laboratory's archive, or of
    both: then the archive adds what was filed after the copy, so that the bench goes on where the
    archive ends. Every hash is checked on the way. The daemon must not run.
    """
    if backup is None and archive is None:
        raise InputError("restore: expected BACKUP, --archive URL with --bench NAME, or both")
    if (archive is None) != (bench is None):
        raise InputError("restore: expected --archive and --bench together")
    target = Path(load_config(config).store.path)
    with new_database(target) as part:
        if backup is not None:
            copy_database(backup, part)
        added = _from_archive(part, archive, bench) if archive and bench else 0
        with Store.read(part) as store, store.snapshot():
            audit = store.audit()
            findings = list(audit.findings())
            waiting, _ = store.outbox.depth()
    result = RestoreResult(
        file=str(target),
        records=audit.records,
        runs=audit.runs,
        added=added,
        waiting=waiting,
        findings=findings,
    )
    show(result, _text(result), as_json=as_json)
    raise SystemExit(1 if findings else 0)


def _from_archive(target: Path, url: str, name: str) -> int:
    with open_archive(url, read_only=True) as archive, archive.snapshot():
        found = _series(archive, name)
        with Store.open(target) as store:
            own = store.outbox.series()
            newest = store.records.newest()
            if newest and own != found.series:
                raise InputError(
                    f"the copy has the series {own}, and that of {name} in the archive is "
                    f"{found.series}: expected a copy of that bench"
                )
            return add_filed(store, found.series, found.bench, _filed(archive, found, newest))


def _series(archive: Archive, name: str) -> BenchSeries:
    found = [one for one in archive.benches() if one.series == name] or [
        one for one in archive.benches() if one.bench == name and one.in_force
    ]
    if len(found) != 1:
        which = ", ".join(one.series for one in found) or "none"
        raise InputError(f"{archive.name}: expected one series of {name}, there is {which}")
    return found[0]


def _filed(archive: Archive, bench: BenchSeries, after: int) -> Iterator[FiledRecord]:
    for number, body, link, run in archive.filed_after(bench.series, after):
        held = None if run is None else archive.run(bench.series, run)
        yield FiledRecord(number=number, body=body, link=link, run=held)


def _text(result: RestoreResult) -> str:
    lines = [f"{result.file}: {result.records} records and {result.runs} runs, checked"]
    if result.added:
        lines.append(f"{result.added} of the records are from the archive")
    if result.waiting:
        lines.append(f"{result.waiting} records wait to be sent to the laboratory's server")
    return "\n".join([*lines, *(f"CHANGED  {finding}" for finding in result.findings)])
