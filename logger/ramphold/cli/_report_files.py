"""Put a sample's report, write its files, and hand it out: for the command and for the demo."""

import contextlib
import hashlib
import importlib
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType

from msgspec import Struct

from ramphold.cli._report_source import Source
from ramphold.daemon.config import LaboratoryConfig
from ramphold.errors import InputError, RampholdError, StoreError
from ramphold.report import Document, Issue, Letterhead, document, html

__all__ = ["Written", "letterhead", "write_report"]


class Written(Struct, frozen=True, kw_only=True):
    """What the command prints with --json; `revision` is None for a draft."""

    revision: int | None
    files: list[str]
    sha256: str
    findings: list[str]


def letterhead(config: LaboratoryConfig | None, name: str = "") -> Letterhead:
    """The head of a report by the bench's configuration; a `name` stands in place of its own."""
    if config is None:
        return Letterhead(name=name)
    return Letterhead(
        name=name or config.name, address=config.address, accreditation=config.accreditation
    )


def write_report(
    source: Source,
    wanted: Issue,
    out: Path,
    *,
    paper: str | None = None,
    hand_out: Callable[[str], None] | None = None,
) -> tuple[Document, Written]:
    """Write the report of a sample into a folder.

    Args:
        source: the sample.
        wanted: how it goes out; its revision is found here.
        out: the folder.
        paper: of a PDF beside the HTML; None for none.
        hand_out: records that it went out with that SHA-256; None for a draft. The files have
            their names only once that went well.

    Raises:
        InputError: there is no reportlab for a PDF.
        StoreError: a file can't be written.
    """
    printer = _printer() if paper else None
    made = _make(source, wanted, issue=hand_out is not None)
    files = {".html": html(made.document).encode()}
    if printer is not None:
        files[".pdf"] = printer.pdf(made.document, paper)
    digest = hashlib.sha256(files[".html"]).hexdigest()
    with _written(out, _name(made.document.number, made.revision), files) as names:
        if hand_out is not None and made.revision is not None:
            hand_out(digest)
    return made.document, Written(
        revision=made.revision, files=names, sha256=digest, findings=made.findings
    )


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
