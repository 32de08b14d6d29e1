"""A record's bytes are always the same, and a link binds them to the record before."""

import hashlib
import math

import msgspec
import pytest

from ramphold.errors import WireError
from ramphold.sample import Load, MassTaken, Record, ValueEntered
from ramphold.wire import decode_body, encode_body, link

MASS = MassTaken(
    record=7, sample=2, operator="KL", utc_ns=5, test="crush", item="charge", load=Load.NET,
    specimen=3, mass_g=39.52, line=b"ST,+0039.520  g", t_ns=4,
)  # fmt: skip


def test_a_record_is_canonical_json_with_sorted_keys():
    assert encode_body(MASS) == (
        b'{"anyway":null,"certificate":null,"corrects":null,"item":"charge","kind":"mass","line":"U1QsKzAwMzkuNTIwICBn","load":"net",'
        b'"mass_g":39.52,"operator":"KL","reason":null,"record":7,"sample":2,"shown_g":null,"specimen":3,"t_ns":4,'
        b'"test":"crush","utc_ns":5}'
    )


def test_a_record_comes_back_as_it_was():
    assert decode_body(encode_body(MASS)) == MASS


def test_every_kind_of_record_is_told_from_the_others():
    tags = [kind.__struct_config__.tag for kind in Record.__args__]
    assert len(set(tags)) == len(tags)


def test_a_link_is_the_hash_of_the_text_before_and_the_bytes():
    first = link("", b"{}")
    assert first == hashlib.sha256(b"{}").hexdigest()
    assert link(first, b"[]") == hashlib.sha256(first.encode() + b"[]").hexdigest()


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_number_that_json_has_not_is_refused(value):
    with pytest.raises(WireError, match="not finite"):
        encode_body(ValueEntered(operator="KL", utc_ns=1, what="turbidity", value=value))


@pytest.mark.parametrize("body", [b"", b"{}", b'{"kind":"lunch"}', b"[" * 100_000, b"\xff"])
def test_what_is_no_record_is_refused(body):
    with pytest.raises(WireError, match="not a record"):
        decode_body(body)


def test_an_unknown_field_is_refused_rather_than_dropped():
    body = msgspec.json.decode(encode_body(MASS)) | {"colour": "red"}
    with pytest.raises(WireError, match="colour"):
        decode_body(msgspec.json.encode(body))
