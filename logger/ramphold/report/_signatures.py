"""Who reviewed, decided and issued, in full, and whether a key of their own signed it."""

from collections.abc import Iterator

from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.person_signature import PersonSignature, signer_text
from ramphold.report._document import Block, Paragraph, table
from ramphold.report._format import NONE, date
from ramphold.report._report_input import ReportInput
from ramphold.sample import Reviewed, RunDecided, SignedRecord


def signature_blocks(given: ReportInput) -> Iterator[Block]:
    """Each review, decision and issue with the key that signed it."""
    record, issue = given.record, given.issue
    held = sorted((*record.decisions, *record.reviews, *record.reports), key=lambda one: one.record)
    rows = [
        (_what(one), str(one.record), signer_text(one.operator, one.signed), date(one.utc_ns),
         _key(one.signed))
        for one in held
    ]  # fmt: skip
    if issue.by:
        issuer = signer_text(issue.by, issue.signer)
        rows.append(("this report", NONE, issuer, date(issue.utc_ns), _key(issue.signer)))
    yield table(
        "Signatures of people",
        "what:<1.3 | record:>0.6 | by:<2 | when:<1.1 | key (SHA-256 of it):<2.6",
        rows,
    )
    yield Paragraph(
        "A signature is that of a person's own key, which only their passphrase or PIN opens. It "
        "covers the record and all records of the sample before it. Initials alone prove nobody; "
        "masses and runs carry no more."
    )


def _what(one: SignedRecord) -> str:
    match one:
        case RunDecided():
            return f"run {one.run} {one.words}"
        case Reviewed():
            return "review"
        case _:
            return f"report, revision {getattr(one, 'revision', NONE)}"


def _key(signed: PersonSignature | None) -> str:
    return NONE if signed is None else fingerprint(signed.key)
