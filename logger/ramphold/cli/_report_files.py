"""Builds the report of a sample, writes its files, and issues it."""

import contextlib
import hashlib
import importlib
import re
import shlex
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from types import ModuleType

from msgspec import Struct

from ramphold.cli._report_source import Source
from ramphold.daemon.config import LaboratoryConfig
from ramphold.errors import InputError, RampholdError, StoreError
from ramphold.report import Document, Issue, Letterhead, document, html


class Written(Struct, frozen=True, kw_only=True):
    """The JSON result of the command; `revision` is None for a draft."""

    revision: int | None
    files: list[str]
    sha256: str
    findings: list[str]


def letterhead(config: LaboratoryConfig | None, name: str = "") -> Letterhead:
    """The head of a report from the configuration; `name` replaces the configured one."""
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
        wanted: how it is issued; its revision is set here.
        out: the folder.
        paper: of a PDF beside the HTML; None for no PDF.
        hand_out: records the issue with the SHA-256; None for a draft. The files get their names
            only after it succeeded.

    Raises:
        InputError: a PDF needs reportlab, which is not installed.
        StoreError: a file cannot be written.
    """
    printer = _printer() if paper else None
    findings, revision = source.findings, None
    if hand_out is not None and not findings:
        revision = len(source.record.reports) + 1
    issue = replace(
        wanted,
        revision=revision,
        by="" if revision is None else wanted.by,
        notes=source.notes,
        disputed=source.disputed,
    )
    made = document(source.record, source.trace, issue, findings)
    files = {".html": html(made).encode()}
    if printer is not None:
        files[".pdf"] = printer.pdf(made, paper)
    digest = hashlib.sha256(files[".html"]).hexdigest()
    with _written(out, _name(made.number, revision), files) as names:
        if hand_out is not None and revision is not None:
            hand_out(digest)
    return made, Written(revision=revision, files=names, sha256=digest, findings=findings)


def _printer() -> ModuleType:
    try:
        return importlib.import_module("ramphold.report.pdf")
    except ModuleNotFoundError:
        raise InputError(
            f"--pdf needs reportlab: {shlex.quote(sys.executable)} -m pip install reportlab"
        ) from None


def _name(number: str, revision: int | None) -> str:
    """A safe file name from a laboratory number."""
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", number).strip(".-") or "sample"
    return f"{plain}-draft" if revision is None else f"{plain}-r{revision}"


@contextlib.contextmanager
def _written(folder: Path, name: str, files: dict[str, bytes]) -> Iterator[list[str]]:
    """Write files that get their names if the block succeeds, and are removed if it does not."""
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
