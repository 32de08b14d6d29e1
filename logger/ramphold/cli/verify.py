"""`ramphold verify`: whether a report is the one that was issued and signed."""

from pathlib import Path

import click
import msgspec
from msgspec import Struct

from ramphold.cli._common import json_option, show
from ramphold.clock import NS_PER_S, utc_text
from ramphold.errors import InputError
from ramphold.keys.ed25519 import fingerprint, read_fingerprint
from ramphold.keys.report_seal import ReportSeal, read_seal
from ramphold.undecodable import UNDECODABLE

_YEAR_10000_NS = 253_402_300_800 * NS_PER_S


class VerifyResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command."""

    file: str
    revision: int
    by: str
    issued_utc_ns: int
    signed_utc_ns: int
    fingerprint: str
    findings: list[str]


@click.command("verify")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--seal", type=click.Path(path_type=Path), help="Its seal; FILE.seal by default.")
@click.option("--fingerprint", "wanted", metavar="HEX", help="The key that must have signed.")
@json_option
def command(*, file: Path, seal: Path | None, wanted: str | None, as_json: bool) -> None:
    """Check an issued report (HTML) against the seal that `ramphold report --issue` wrote.

    It needs nothing else: no database and no archive. It says who issued the report and when the
    bench's key had signed that. Whose key it is, only its fingerprint tells. The exit status is 1
    if the file is not the one that was issued, or the seal is not right.
    """
    found = read_seal(_read(seal or file.with_name(file.name + ".seal")))
    result = _result(file, found, _read(file), wanted)
    show(result, _text(result), as_json=as_json)
    raise SystemExit(1 if result.findings else 0)


def _result(file: Path, seal: ReportSeal, content: bytes, wanted: str | None) -> VerifyResult:
    findings = seal.findings(content)
    whose = fingerprint(seal.head.key)
    if wanted is not None and not whose.startswith(read_fingerprint(wanted)):
        findings.append(f"it is signed by another key, {whose}")
    try:
        record = msgspec.json.decode(seal.body, type=dict[str, object])
    except UNDECODABLE as error:
        raise InputError(f"{file}: the record in its seal can't be read: {error}") from None
    revision, issued = record.get("revision"), record.get("utc_ns")
    return VerifyResult(
        file=str(file),
        revision=revision if isinstance(revision, int) else 0,
        by=str(record.get("operator", "")),
        issued_utc_ns=issued if isinstance(issued, int) else 0,
        signed_utc_ns=seal.head.utc_ns,
        fingerprint=whose,
        findings=findings,
    )


def _text(result: VerifyResult) -> str:
    issued = f"issued by {result.by} on {_time(result.issued_utc_ns)}"
    signed = f"signed on {_time(result.signed_utc_ns)} by the key {result.fingerprint}"
    lines = [f"{result.file}: revision {result.revision}, {issued}", signed]
    lines += [f"WRONG  {finding}" for finding in result.findings]
    end = "it is not what was signed" if result.findings else "it is what was signed"
    return "\n".join([*lines, end])


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: can't be read: {error.strerror}") from None


def _time(utc_ns: int) -> str:
    # A seal is anybody's text: its time may be none.
    return f"{utc_text(min(max(utc_ns, 0), _YEAR_10000_NS - 1))} UTC"
