"""`ramphold verify`: whether a report or a trace is the one that was recorded and signed."""

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import click
from msgspec import Struct

from ramphold.cli._answered import Answered, answered
from ramphold.cli._common import json_option, read_bytes, show
from ramphold.cli._record_seals import seal_beside
from ramphold.clock import NS_PER_S, utc_text
from ramphold.errors import InputError, WireError
from ramphold.keys.ed25519 import fingerprint, read_fingerprint
from ramphold.keys.person_signature import PersonSignature, signer_text
from ramphold.keys.record_seal import CoveringHead, RecordSeal, read_seal
from ramphold.keys.sealed_file import carried_seal, issued_bytes
from ramphold.sample import Record, ReportIssued, RunFinished
from ramphold.wire import decode_body

_YEAR_10000_NS = 253_402_300_800 * NS_PER_S


class SignedBy(Struct, frozen=True, kw_only=True):
    """Whose key signed, when, and over how many records."""

    fingerprint: str
    utc_ns: int
    records: int


class IssuedBy(Struct, frozen=True, kw_only=True):
    """The person who signed the issue of a report."""

    name: str
    function: str
    fingerprint: str


class VerifyResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command.

    Attributes:
        file: its name.
        what: what the record says that it is.
        sha256: of its bytes, those of a report without the seal.
        person: who signed the issue of a report; None for a trace, or where nobody signed.
        answered: the reviews, and decisions on runs, behind a report.
        bench: who signed the record.
        collector: who signed that it was filed; None if the seal has no receipt.
        findings: what is wrong, a sentence each; empty if it is what was signed.
    """

    file: str
    what: str
    sha256: str
    person: IssuedBy | None
    answered: list[Answered]
    bench: SignedBy
    collector: SignedBy | None
    findings: list[str]


@click.command("verify")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--seal", type=click.Path(path_type=Path), help="Of a trace; FILE.seal by default.")
@click.option("--fingerprint", "wanted", metavar="HEX", help="The bench's key, as you know it.")
@click.option("--collector", metavar="HEX", help="The collector's key, as you know it.")
@json_option
def command(
    *, file: Path, seal: Path | None, wanted: str | None, collector: str | None, as_json: bool
) -> None:
    """Check an issued report (HTML or PDF) or an exported trace (CSV) by its seal alone.

    It needs no database and no archive. It says what the file is, which person issued it, which
    bench's key signed that and when, and which collector has filed it. Only the
    fingerprints tell whose keys they are. The exit status is 1 if the file is not what was signed,
    to the last byte, or not all that people sign at the bench is signed.
    """
    result = verified(file, read_bytes(file), seal, (wanted, collector))
    show(result, _text(result), as_json=as_json)
    raise SystemExit(1 if result.findings else 0)


def verified(
    file: Path,
    content: bytes,
    given: Path | None = None,
    wanted: tuple[str | None, str | None] = (None, None),
) -> VerifyResult:
    """Whether a file is what was signed.

    Args:
        file: its name.
        content: its bytes.
        given: its seal, in another place than in it or beside it.
        wanted: fingerprints of the keys of bench and collector, where they are known.

    Raises:
        InputError: there is no seal, or it can't be read.
    """
    issued, seal = _sealed(file, content, given)
    try:
        record = decode_body(seal.body)
    except WireError as error:
        raise InputError(f"{file}: the record in its seal can't be read: {error}") from None
    what, digests = _named(record)
    digest = sha256(issued).hexdigest()
    findings = [] if digest in digests else [f"the file is not the {what}: its SHA-256 is {digest}"]
    findings += seal.findings()
    person = record.signed if isinstance(record, ReportIssued) else None
    told, wrong = answered(seal, record)
    findings += wrong
    bench = _signed(seal.head)
    collector = None if seal.receipt is None else _signed(seal.receipt)
    findings += _of_another("bench", bench, wanted[0])
    findings += _of_another("collector", collector, wanted[1])
    return VerifyResult(
        file=str(file),
        what=what,
        sha256=digest,
        person=None if person is None else _issued_by(person),
        answered=told,
        bench=bench,
        collector=collector,
        findings=findings,
    )


def _sealed(file: Path, content: bytes, given: Path | None) -> tuple[bytes, RecordSeal]:
    """The bytes that the record names, and the seal, which stands behind them or beside."""
    try:
        if given is None and (carried := carried_seal(content)) is not None:
            return issued_bytes(content), carried
        line = _beside(given or seal_beside(file)).decode("ascii", "replace")
        return content, read_seal(line.removesuffix("\n"))
    except InputError as error:
        raise InputError(f"{file}: {error}") from None


def _beside(path: Path) -> bytes:
    if not path.exists():
        raise InputError(
            f"no seal in it, and no {path.name} beside it: expected an issued report or an "
            "exported trace; `ramphold seal` writes it at the bench"
        )
    return read_bytes(path)


def _named(record: Record) -> tuple[str, list[str]]:
    """What a record names, in words, and its SHA-256 in each format."""
    match record:
        case ReportIssued():
            by = signer_text(record.operator, record.signed)
            when = f"issued by {by} on {_time(record.utc_ns)}"
            what = f"report on sample #{record.sample}, revision {record.revision}, {when}"
            return what, [one for one in (record.sha256, record.pdf_sha256) if one]
        case RunFinished():
            when = f"made by {record.operator} on {_time(record.started_utc_ns)}"
            what = f"trace of run {record.run} at {record.target_psi:.0f} psi, {when}"
            return what, [record.trace_sha256]
    return f"record {record.record}, which names no file", []


def _issued_by(one: PersonSignature) -> IssuedBy:
    return IssuedBy(name=one.name, function=one.function, fingerprint=fingerprint(one.key))


def _signed(one: CoveringHead) -> SignedBy:
    head = one.head
    return SignedBy(fingerprint=fingerprint(head.key), utc_ns=head.utc_ns, records=head.count)


def _of_another(whose: str, signed: SignedBy | None, wanted: str | None) -> Iterator[str]:
    if wanted is None:
        return
    digits = read_fingerprint(wanted)
    if signed is None:
        yield f"no {whose} has signed it"
    elif not signed.fingerprint.startswith(digits):
        yield f"it is signed by another {whose}, {signed.fingerprint}"


def _text(result: VerifyResult) -> str:
    if result.findings:
        wrong = [f"WRONG  {finding}" for finding in result.findings]
        return "\n".join([f"{result.file}: not what was signed", *wrong])
    bench, filed = result.bench, "no receipt of a collector in the seal: the bench alone vouches"
    if (one := result.collector) is not None:
        filed = f"{_time(one.utc_ns)}, by the collector's key {one.fingerprint}"
    lines = [f"{result.file}: {result.what}"]
    if result.person is not None:
        lines.append(f"issued     by {result.person.name}'s key {result.person.fingerprint}")
    lines += [
        f"answered   {one.what}, by {one.by}{f', key {one.fingerprint}' if one.fingerprint else ''}"
        for one in result.answered
    ]
    return "\n".join(
        [
            *lines,
            f"signed     {_time(bench.utc_ns)}, by the bench's key {bench.fingerprint}",
            f"filed      {filed}",
            "it is what was signed; compare the fingerprints with those you know",
        ]
    )


def _time(utc_ns: int) -> str:
    # A seal is anybody's text: its time may be none.
    return f"{utc_text(min(max(utc_ns, 0), _YEAR_10000_NS - 1))} UTC"
