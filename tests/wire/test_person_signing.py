"""A record in a person's name, and what a signature does not cover."""

import pytest
from msgspec import structs

from ramphold.errors import WireError
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.person_key import OpenedKey, Signer
from ramphold.sample import People, PersonAdded, Reviewed, ValueEntered
from ramphold.wire import check_signature, encode_body, signature_finding, signed

KEY = SigningKey.from_bytes(bytes(range(32)))
ANNA = OpenedKey(
    Signer(initials="AB", name="Anna Berg", function="analyst", key=KEY.public, added_utc_ns=1), KEY
)
BEFORE = "ab" * 32
REVIEW = Reviewed(record=9, sample=1, operator="AB", utc_ns=5, remarks="well done")
SIGNED = signed(REVIEW, BEFORE, ANNA)
THERE = People([
    signed(
        PersonAdded(record=1, operator="AB", utc_ns=1, initials="AB", name="Anna Berg",
                    function="analyst", key=KEY.public),
        "", ANNA,
    )
])  # fmt: skip


def body(record):
    return encode_body(record).decode()


def test_a_signed_record_is_the_same_fact_with_a_signature_that_covers_it():
    assert structs.replace(SIGNED, signed=None) == REVIEW
    assert (SIGNED.signed.name, SIGNED.signed.key) == ("Anna Berg", KEY.public)
    check_signature(SIGNED, BEFORE, body(SIGNED))
    assert signature_finding(THERE, SIGNED, BEFORE, body(SIGNED)) == ""


@pytest.mark.parametrize(
    ("record", "before"),
    [
        (structs.replace(SIGNED, remarks="badly done"), BEFORE),
        (structs.replace(SIGNED, utc_ns=6), BEFORE),
        (SIGNED, "cd" * 32),
        (SIGNED, ""),
    ],
    ids=["text", "time", "other place", "first"],
)
def test_a_record_changed_or_moved_since_is_not_what_was_signed(record, before):
    with pytest.raises(WireError, match=r"record 9: it is not what Anna Berg \(AB\) signed"):
        check_signature(record, before, body(record))
    assert signature_finding(THERE, record, before, body(record)) == (
        "record 9: it is not what Anna Berg (AB) signed: the record, or one before it, was changed"
    )


def test_a_record_that_is_never_signed_has_nothing_to_find():
    value = ValueEntered(record=9, operator="AB", utc_ns=5, what="turbidity", value=41.0)
    assert signature_finding(THERE, value, BEFORE, body(value)) == ""
    check_signature(value, BEFORE, body(value))


def test_a_missing_signature_is_found_where_people_sign():
    check_signature(REVIEW, BEFORE, body(REVIEW))
    assert signature_finding(People(), REVIEW, BEFORE, body(REVIEW)) == ""
    assert signature_finding(THERE, REVIEW, BEFORE, body(REVIEW)) == (
        "record 9, review by AB, is not signed, and people sign at this bench since record 1"
    )
