"""The records of a sample as canonical JSON, each bound to the one before it by a hash.

A link is the SHA-256, in hex, of the text of the link before (empty for the first) followed by the
bytes of the record: `printf %s%s "$before" "$body" | sha256sum`.
"""

import hashlib

import msgspec

from ramphold.errors import WireError
from ramphold.sample import BaseRecord, Record
from ramphold.undecodable import UNDECODABLE


def encode_body(record: BaseRecord) -> bytes:
    """A record's bytes: JSON with sorted keys, no spaces, UTF-8.

    Raises:
        WireError: it has a number that JSON cannot hold.
    """
    body = msgspec.json.encode(record, order="sorted")
    # The encoder writes null for a number that is not finite.
    if decode_body(body) != record:
        raise WireError(f"a record with a number that is not finite: {record}")
    return body


def decode_body(body: bytes | str) -> Record:
    """Decode a record.

    Raises:
        WireError: the bytes are no record that this version knows.
    """
    try:
        record: Record = msgspec.json.decode(body, type=Record)
    except UNDECODABLE as error:
        raise WireError(f"not a record of a sample: {error}") from None
    return record


def link(before: str, body: bytes) -> str:
    """The link of a record: its hash together with the link before it."""
    return hashlib.sha256(before.encode("ascii") + body).hexdigest()
