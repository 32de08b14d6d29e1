"""What people answered for before a report was issued, checked by its seal alone."""

from collections.abc import Iterator

from msgspec import Struct

from ramphold.errors import InputError, WireError
from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.person_signature import signer_text
from ramphold.keys.record_seal import RecordSeal
from ramphold.sample import BaseRecord, People, Record, Reviewed, RunDecided
from ramphold.wire import decode_body, signature_finding


class Answered(Struct, frozen=True, kw_only=True):
    """A review, or a decision on a run.

    Attributes:
        what: in words.
        by: the person in full, or initials that nobody proved.
        fingerprint: of the key that signed it; empty if none did.
        utc_ns: when, UTC in ns since 1970.
    """

    what: str
    by: str
    fingerprint: str
    utc_ns: int


def answered(seal: RecordSeal, issued: Record) -> tuple[list[Answered], list[str]]:
    """What people answered for, and what is wrong with their signatures, a sentence each.

    Args:
        seal: of a report; that of a trace has none of it.
        issued: its record.

    Raises:
        InputError: a record in the seal can't be read.
    """
    people, found, findings, last = People(), list[Answered](), list[str](), 0
    for one in seal.people:
        try:
            record = decode_body(one.body)
        except WireError as error:
            raise InputError(f"record {one.record} in the seal can't be read: {error}") from None
        findings += _wrong(people, record, one.previous, one.body)
        if record.record != one.record or not last < one.record < seal.record:
            findings.append(f"record {one.record} in the seal is out of its order")
        if isinstance(record, Reviewed | RunDecided):
            if record.sample != issued.sample:
                findings.append(f"record {one.record} in the seal is of another sample")
            found.append(_told(record))
        people.take(record)
        last = one.record
    findings += _wrong(people, issued, seal.previous, seal.body)
    return found, findings


def _wrong(people: People, record: BaseRecord, previous: str, body: str) -> Iterator[str]:
    if wrong := signature_finding(people, record, previous, body):
        yield wrong


def _told(record: Reviewed | RunDecided) -> Answered:
    what = "reviewed"
    if isinstance(record, RunDecided):
        what = f"run {record.run} {record.words}"
    signed = record.signed
    return Answered(
        what=what,
        by=signer_text(record.operator, signed),
        fingerprint="" if signed is None else fingerprint(signed.key),
        utc_ns=record.utc_ns,
    )
