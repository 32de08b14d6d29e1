"""Signs records in the name of a person, and finds what such a signature does not cover."""

from typing import TypeVar

from msgspec import structs

from ramphold.errors import WireError
from ramphold.keys.person_key import OpenedKey
from ramphold.sample import BaseRecord, People, SignedRecord, kind_name
from ramphold.wire._chain import encode_body

S = TypeVar("S", bound=SignedRecord)


def signed(record: S, previous: str, key: OpenedKey) -> S:
    """A record with the signature of a person.

    Args:
        record: with its number.
        previous: link of the record before it in its chain; empty for the first.
        key: of the person who signs.

    Raises:
        WireError: as for `encode_body`.
    """
    unsigned = structs.replace(record, signed=key.unsigned)
    text = encode_body(unsigned).decode()
    return structs.replace(
        record, signed=structs.replace(key.unsigned, signature=key.sign_record(previous, text))
    )


def check_signature(record: BaseRecord, previous: str, body: str) -> None:
    """Check the signature of a person, where a record has one.

    Raises:
        WireError: it is not that of the key over this record in this place.
    """
    if not isinstance(record, SignedRecord) or record.signed is None:
        return
    if not record.signed.covers(previous, body):
        raise WireError(
            f"record {record.record}: it is not what {record.signed.name} ({record.operator}) "
            "signed"
        )


def signature_finding(people: People, record: BaseRecord, previous: str, body: str) -> str:
    """What is wrong with a person's signature, or with its lack, as a sentence; empty if nothing.

    Args:
        people: as the records before this one have them.
        record: any record.
        previous: link of the record before it in its chain.
        body: the record as it is kept.
    """
    if not isinstance(record, SignedRecord):
        return ""
    try:
        check_signature(record, previous, body)
    except WireError as error:
        return f"{error}: the record, or one before it, was changed"
    fault = people.fault(record)
    what = f"record {record.record}, {kind_name(type(record))} by {record.operator}"
    return f"{what}, {fault}" if fault else ""
