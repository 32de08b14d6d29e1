"""`ramphold report`: the report of a sample as HTML and PDF."""

from pathlib import Path
from typing import NoReturn, Unpack

import click

from ramphold.cli._common import json_option, show
from ramphold.cli._database_options import database_options
from ramphold.cli._pin import pin_option
from ramphold.cli._record_seals import seal_files
from ramphold.cli._report_files import Written, letterhead, write_report
from ramphold.cli._report_issuer import ReportIssuer
from ramphold.cli._report_source import SourceOptions, open_source
from ramphold.clock import SystemClock
from ramphold.daemon.config import load_config
from ramphold.report import Document, Issue


@click.command("report")
@click.argument("sample")
@database_options
@click.option("--archive", metavar="URL", help="Read the laboratory's archive: a file or a URL.")
@click.option("--bench", metavar="NAME", help="The bench, if two in the archive share the number.")
@click.option("--disputed", is_flag=True, help="Print a disputed sample, marked on each page.")
@click.option("--out", default=".", type=click.Path(path_type=Path, file_okay=False))
@click.option("--pdf", "as_pdf", is_flag=True, help="Write a PDF beside the HTML (extra `pdf`).")
@click.option("--paper", default="letter", type=click.Choice(["letter", "a4"]), show_default=True)
@click.option("--traces", is_flag=True, help="A large figure of each run, not many on a page.")
@click.option("--laboratory", default="", help="Name at its head, instead of the configured one.")
@click.option("--issue", is_flag=True, help="Issue it: record it as the next revision.")
@click.option("--by", default="", metavar="INITIALS", help="The person who issues it.")
@pin_option
@click.option("--changes", default="", help="What differs from the revision before.")
@click.option("--socket", type=click.Path(path_type=Path), help="The daemon's, for --issue.")
@json_option
def command(
    *,
    sample: str,
    disputed: bool,
    out: Path,
    as_pdf: bool,
    paper: str,
    traces: bool,
    laboratory: str,
    issue: bool,
    by: str,
    pin_file: Path | None,
    changes: str,
    socket: Path | None,
    as_json: bool,
    **where: Unpack[SourceOptions],
) -> None:
    """Write the report of SAMPLE, a laboratory number or #7, into the folder --out.

    Without --issue it is a draft, and says so. With --issue the daemon records it with the SHA-256
    of HTML and PDF, and their seal is added at their ends (`ramphold verify`); the sample must have
    been reviewed. If its records were changed, nothing is issued and the exit status is 1. --config
    gives the laboratory's name and address. With --archive it is made from what was collected.
    """
    config, issuer = where.get("config"), None
    if issue:
        issuer = ReportIssuer.asked(by, pin_file, socket, where)
    head = letterhead(load_config(config).laboratory if config else None, laboratory)
    wanted = Issue(
        utc_ns=SystemClock().utc_ns(), by=by, signer=issuer.signer if issuer else None,
        changes=changes, letterhead=head, traces=traces,
    )  # fmt: skip
    with open_source(sample, **where) as source:
        if source.disputed and not disputed:
            _refuse_disputed(sample)
        issued = issuer.hand_out(sample, changes) if issuer else None
        papers = paper if as_pdf else None
        found, result = write_report(source, wanted, out, paper=papers, hand_out=issued)
    sealed = []
    if result.revision is not None:
        sealed = seal_files([*map(Path, result.files)], where.get("db"), config, wait=True)
    show(result, "\n".join([_text(found, result), *(one.text for one in sealed)]), as_json=as_json)
    raise SystemExit(1 if result.findings else 0)


def _refuse_disputed(sample: str) -> NoReturn:
    click.echo(
        f"{sample} is disputed: its records contradict others that were filed. Have it decided "
        "(`ramphold collect --status`), or print it with --disputed",
        err=True,
    )
    raise SystemExit(1)


def _text(found: Document, result: Written) -> str:
    lines = [f"{found.number}, {found.revision}: {found.headline.label} {found.headline.value}"]
    lines += [f"CHANGED  {finding}" for finding in result.findings]
    lines += [
        f"{file}\n  SHA-256 {digest}{' without its seal' if result.revision else ''}"
        for file, digest in zip(result.files, result.sha256, strict=True)
    ]
    return "\n".join(lines)
