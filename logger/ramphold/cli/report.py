"""`ramphold report`: what a laboratory hands out of a sample, as HTML and PDF."""

import contextlib
import hashlib
import importlib
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType

import click
from msgspec import Struct

from ramphold.cli._asking import Daemon, which
from ramphold.cli._common import json_option, show
from ramphold.cli._database import database_options
from ramphold.cli._report_source import Source, open_source
from ramphold.clock import SystemClock
from ramphold.control.sample_methods import ISSUE_REPORT, IssueReport
from ramphold.errors import InputError, RampholdError, StoreError
from ramphold.report import Document, Issue, document, html

__all__ = ["command"]


class Written(Struct, frozen=True, kw_only=True):
    """What the command prints with --json; `revision` is None for a draft."""

    revision: int | None
    files: list[str]
    sha256: str
    findings: list[str]


@click.command("report")
@click.argument("sample")
@database_options
@click.option("--archive", metavar="URL", help="The laboratory's archive instead: file or URL.")
@click.option("--bench", metavar="NAME", help="Whose sample, where two in the archive share one.")
@click.option("--out", default=".", type=click.Path(path_type=Path, file_okay=False))
@click.option("--pdf", "as_pdf", is_flag=True, help="A PDF beside the HTML (extra `pdf`).")
@click.option("--paper", default="letter", type=click.Choice(["letter", "a4"]), show_default=True)
@click.option("--laboratory", default="", help="Name that stands over the report.")
@click.option("--issue", is_flag=True, help="Hand it out: record it as the next revision.")
@click.option("--by", default="", metavar="INITIALS", help="Who issues it.")
@click.option("--changes", default="", help="What a later revision says otherwise.")
@click.option("--socket", type=click.Path(path_type=Path), help="The daemon's, for --issue.")
@json_option
def command(
    *,
    sample: str,
    db: Path | None,
    config: Path | None,
    archive: str | None,
    bench: str | None,
    out: Path,
    as_pdf: bool,
    paper: str,
    laboratory: str,
    issue: bool,
    by: str,
    changes: str,
    socket: Path | None,
    as_json: bool,
) -> None:
    """Write the report of SAMPLE, a laboratory number or #7, into the folder --out.

    Without --issue it is a draft, and says so. Issued, the daemon records it with the SHA-256
    of its HTML; the sample must have been reviewed. Exit status 1, and nothing issued, where the
    sample's records were changed behind the program's back: the report says so, too. With
    --archive it is made on the laboratory's server, from what was collected.
    """
    if issue and not by:
        raise InputError("--issue: expected --by INITIALS, of who hands the report out")
    if issue and archive is not None:
        raise InputError("--issue: a report is issued at its bench: expected --config of that")
    printer = _printer() if as_pdf else None
    wanted = Issue(utc_ns=SystemClock().utc_ns(), by=by, changes=changes, laboratory=laboratory)
    with open_source(sample, db=db, config=config, archive=archive, bench=bench) as source:
        made = _make(source, wanted, issue=issue)
    files = {".html": html(made.document).encode()}
    if printer is not None:
        files[".pdf"] = printer.pdf(made.document, paper)
    digest = hashlib.sha256(files[".html"]).hexdigest()
    with _written(out, _name(made.document.number, made.revision), files) as names:
        if made.revision is not None:
            daemon = Daemon(socket, None if socket else config, as_json=as_json)
            daemon.ask(
                ISSUE_REPORT,
                IssueReport(sample=which(sample), operator=by, changes=changes, sha256=digest),
            )
    result = Written(revision=made.revision, files=names, sha256=digest, findings=made.findings)
    show(result, _text(made.document, result), as_json=as_json)
    raise SystemExit(1 if made.findings else 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    document: Document
    revision: int | None
    findings: list[str]


def _make(source: Source, wanted: Issue, *, issue: bool) -> _Made:
    """Put the report; a draft where it is not to be issued, or must not be."""
    findings = source.findings
    revision = len(source.record.reports) + 1 if issue and not findings else None
    if revision is None:
        wanted = replace(wanted, by="")
    found = document(source.record, source.trace, replace(wanted, revision=revision), findings)
    return _Made(document=found, revision=revision, findings=findings)


def _printer() -> ModuleType:
    try:
        return importlib.import_module("ramphold.report.pdf")
    except ModuleNotFoundError:
        raise InputError("--pdf needs reportlab: pip install 'ramphold[pdf]'") from None


def _name(number: str, revision: int | None) -> str:
    """A file's name of a laboratory number, whatever is in it."""
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", number).strip(".-") or "sample"
    return f"{plain}-draft" if revision is None else f"{plain}-r{revision}"


@contextlib.contextmanager
def _written(folder: Path, name: str, files: dict[str, bytes]) -> Iterator[list[str]]:
    """Files that have their names once the block has gone well, and are gone where it has not."""
    parts = {folder / f"{name}{ending}.part": content for ending, content in files.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for part, content in parts.items():
            part.write_bytes(content)
        yield [str(part.with_suffix("")) for part in parts]
        for part in parts:
            part.replace(part.with_suffix(""))
    except OSError as error:
        if isinstance(error, RampholdError):
            raise
        raise StoreError(f"{folder}: the report can't be written: {error.strerror}") from None
    finally:
        for part in parts:
            part.unlink(missing_ok=True)


def _text(found: Document, result: Written) -> str:
    lines = [f"{found.number}, {found.revision}: {found.headline.label} {found.headline.value}"]
    lines += [f"CHANGED  {finding}" for finding in result.findings]
    lines += result.files
    return "\n".join([*lines, f"SHA-256 of the HTML {result.sha256}"])
