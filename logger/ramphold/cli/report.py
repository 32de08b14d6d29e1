"""`ramphold report`: what a laboratory hands out of a sample, as HTML and PDF."""

from pathlib import Path

import click

from ramphold.cli._asking import Daemon, which
from ramphold.cli._common import json_option, show
from ramphold.cli._database_options import database_options
from ramphold.cli._report_files import Written, letterhead, write_report
from ramphold.cli._report_source import open_source
from ramphold.clock import SystemClock
from ramphold.control.sample_methods import ISSUE_REPORT, IssueReport
from ramphold.daemon.config import load_config
from ramphold.errors import InputError
from ramphold.report import Document, Issue

__all__ = ["command"]


@click.command("report")
@click.argument("sample")
@database_options
@click.option("--archive", metavar="URL", help="The laboratory's archive instead: file or URL.")
@click.option("--bench", metavar="NAME", help="Whose sample, where two in the archive share one.")
@click.option("--out", default=".", type=click.Path(path_type=Path, file_okay=False))
@click.option("--pdf", "as_pdf", is_flag=True, help="A PDF beside the HTML (extra `pdf`).")
@click.option("--paper", default="letter", type=click.Choice(["letter", "a4"]), show_default=True)
@click.option("--laboratory", default="", help="Name at its head, in place of the configuration's.")
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
    --config the laboratory's name and address stand at its head; with --archive it is made on the
    laboratory's server, from what was collected.
    """
    if issue and not by:
        raise InputError("--issue: expected --by INITIALS, of who hands the report out")
    if issue and archive is not None:
        raise InputError("--issue: a report is issued at its bench: expected --config of that")
    daemon = Daemon(socket, None if socket else config, as_json=as_json)

    def hand_out(sha256: str) -> None:
        wanted = IssueReport(sample=which(sample), operator=by, changes=changes, sha256=sha256)
        daemon.ask(ISSUE_REPORT, wanted)

    head = letterhead(load_config(config).laboratory if config else None, laboratory)
    wanted = Issue(utc_ns=SystemClock().utc_ns(), by=by, changes=changes, letterhead=head)
    with open_source(sample, db=db, config=config, archive=archive, bench=bench) as source:
        found, result = write_report(
            source,
            wanted,
            out,
            paper=paper if as_pdf else None,
            hand_out=hand_out if issue else None,
        )
    show(result, _text(found, result), as_json=as_json)
    raise SystemExit(1 if result.findings else 0)


def _text(found: Document, result: Written) -> str:
    lines = [f"{found.number}, {found.revision}: {found.headline.label} {found.headline.value}"]
    lines += [f"CHANGED  {finding}" for finding in result.findings]
    lines += result.files
    return "\n".join([*lines, f"SHA-256 of the HTML {result.sha256}"])
