"""Builds the report of a sample, writes its files, and issues it."""

import contextlib
import hashlib
import importlib
import shlex
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from types import ModuleType

from msgspec import Struct

from ramphold.cli._report_source import Source
from ramphold.daemon.config import LaboratoryConfig
from ramphold.errors import InputError, RampholdError, StoreError
from ramphold.report import Document, Issue, Letterhead, document, html, report_name

#: Records an issue with the SHA-256 of the HTML, and that of the PDF or nothing.
HandOut = Callable[[str, str], None]


class Written(Struct, frozen=True, kw_only=True):
    """The JSON result of the command; `revision` is None for a draft, `sha256` is of each file."""

    revision: int | None
    files: list[str]
    sha256: list[str]
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
    hand_out: HandOut | None = None,
) -> tuple[Document, Written]:
    """Write the report of a sample into a folder.

    Args:
        source: the sample.
        wanted: how it is issued; its revision is set here.
        out: the folder.
        paper: of a PDF beside the HTML; None for no PDF.
        hand_out: records the issue; None for a draft. The files get their names only after it
            succeeded.

    Raises:
        InputError: a PDF needs reportlab, which is not installed.
        StoreError: a file cannot be written.
    """
    printer = _printer() if paper else None
    findings = source.findings
    issue = replace(wanted, notes=source.notes, disputed=source.disputed)
    if hand_out is None or findings:
        issue = replace(issue, revision=None, by="", signer=None)
    else:
        issue = replace(issue, revision=len(source.record.reports) + 1)
    revision = issue.revision
    made = document(source.record, source.trace, issue, findings)
    files = {".html": html(made).encode()}
    if printer is not None:
        files[".pdf"] = printer.pdf(made, paper)
    digests = {ending: hashlib.sha256(content).hexdigest() for ending, content in files.items()}
    name = report_name(source.bench, source.record.sample.sample, made.number, revision)
    with _written(out, name, files, numbered=revision is None) as names:
        if hand_out is not None and revision is not None:
            hand_out(digests[".html"], digests.get(".pdf", ""))
    return made, Written(
        revision=revision, files=names, sha256=list(digests.values()), findings=findings
    )


def _printer() -> ModuleType:
    try:
        return importlib.import_module("ramphold.report.pdf")
    except ModuleNotFoundError:
        raise InputError(
            f"--pdf needs reportlab: {shlex.quote(sys.executable)} -m pip install reportlab"
        ) from None


@contextlib.contextmanager
def _written(
    folder: Path, name: str, files: dict[str, bytes], *, numbered: bool
) -> Iterator[list[str]]:
    """Write files under names that are new, which they keep if the block succeeds.

    Args:
        folder: where to.
        name: the name without its ending.
        files: content by ending.
        numbered: whether a name that is taken gets a number, or nothing is written.
    """
    made: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        made = _reserved(folder, name, files, numbered=numbered)
        for path, content in zip(made, files.values(), strict=True):
            path.write_bytes(content)
        yield [str(path) for path in made]
    except BaseException as error:
        for path in made:
            path.unlink(missing_ok=True)
        if isinstance(error, OSError) and not isinstance(error, RampholdError):
            raise StoreError(
                f"{error.filename or folder}: the report can't be written: {error.strerror}"
            ) from None
        raise


def _reserved(folder: Path, name: str, endings: Iterable[str], *, numbered: bool) -> list[Path]:
    """New empty files of one name."""
    number = 1
    while True:
        stem = name if number == 1 else f"{name}-{number}"
        made: list[Path] = []
        try:
            for ending in endings:
                path = folder / f"{stem}{ending}"
                path.touch(exist_ok=False)
                made.append(path)
        except FileExistsError:
            for path in made:
                path.unlink()
            if not numbered:
                raise
            number += 1
        else:
            return made
