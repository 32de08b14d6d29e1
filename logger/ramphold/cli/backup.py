"""`ramphold backup`: copy the bench's database beside the running daemon."""

import contextlib
from datetime import UTC, datetime
from pathlib import Path

import click
from msgspec import Struct

from ramphold.cli._common import config_option, json_option, show
from ramphold.clock import SystemClock
from ramphold.daemon.config import load_config
from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.store.backup import backups_of, copy_database, note_backup, remove_database


class BackupResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command; `removed` are older copies."""

    file: str
    records: int
    runs: int
    findings: list[str]
    removed: list[str]


@click.command("backup")
@config_option
@click.option(
    "--to",
    "folder",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="Where the copy goes: on another disk than the database.",
)
@click.option("--keep", type=click.IntRange(min=1), help="Remove all but the newest N copies.")
@json_option
def command(*, config: Path, folder: Path, keep: int | None, as_json: bool) -> None:
    """Copy the bench's database into a new file, beside the running daemon, and check the copy.

    The copy is of one moment, and holds every record up to it. The bench's private key is copied
    beside it, so that a bench can be restored as itself: keep the folder as safe as the bench. The
    exit status is 1 if the records were changed outside the program; no copy is removed then.
    """
    bench = load_config(config)
    utc_ns = SystemClock().utc_ns()
    time = datetime.fromtimestamp(utc_ns // 10**9, UTC)
    target = folder / f"{bench.bench}-{time:%Y%m%dT%H%M%SZ}.sqlite3"
    copy_database(Path(bench.store.path), target)
    with Store.read(target) as store, store.snapshot():
        audit = store.audit()
        findings = list(audit.findings())
    # On a disk that is full or read-only the bench goes on saying that its copy is older.
    with contextlib.suppress(StoreError):
        note_backup(Path(bench.store.path), utc_ns)
    removed = [] if findings or keep is None else backups_of(folder, bench.bench, target)[:-keep]
    for old in removed:
        remove_database(old)
    result = BackupResult(
        file=str(target),
        records=audit.records,
        runs=audit.runs,
        findings=findings,
        removed=[str(one) for one in removed],
    )
    show(result, _text(result), as_json=as_json)
    raise SystemExit(1 if findings else 0)


def _text(result: BackupResult) -> str:
    lines = [f"{result.file}: {result.records} records and {result.runs} runs, checked"]
    lines += [f"CHANGED  {finding}" for finding in result.findings]
    return "\n".join([*lines, *(f"removed  {one}" for one in result.removed)])
