"""What a bench and the server say comes over the wire as it was, or not at all."""

import hashlib
import json
import random
from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from msgspec import structs

from ramphold.errors import WireError
from ramphold.sample import ValueEntered
from ramphold.wire import (
    Envelope,
    Part,
    Receipt,
    RecordMessage,
    RefusedRecord,
    StateMessage,
    bench_of,
    cut,
    encode_body,
    join,
    link,
    pack_envelope,
    sender_of,
    topic,
    unpack_envelope,
)

SERIES = "0123456789abcdef" * 2
BODY = encode_body(ValueEntered(record=7, operator="KL", utc_ns=5, what="turbidity", value=41.0))
MESSAGE = RecordMessage(before="", previous="", link=link("", BODY), body=BODY.decode(), run=None)
SENT = Envelope(
    bench="press-1", series=SERIES, number=7, utc_ns=1_795_000_000_123_456_000, subject="value",
    message=MESSAGE,
)  # fmt: skip


def changed(**fields):
    """The event with some of its fields otherwise, as another program would write it."""
    return json.dumps(json.loads(pack_envelope(SENT)) | fields).encode()


def test_an_envelope_is_a_cloud_event():
    # CloudEvents 1.0.2: required are specversion, id, source and type; time is RFC 3339.
    event = json.loads(pack_envelope(SENT))
    assert (event["specversion"], event["type"]) == ("1.0", "ramphold.record.v1")
    assert (event["id"], event["source"]) == (f"{SERIES}:7", "ramphold/press-1")
    assert event["time"] == "2026-11-18T11:06:40.123456Z"
    assert event["sequence"] == "000000000007"
    assert all(name.isalnum() and name.islower() for name in event)


@pytest.mark.parametrize(
    "message",
    [
        MESSAGE,
        StateMessage(online=True, newest=9, waiting=3, run="hold", troubles=("no reading",)),
        Receipt(
            series=SERIES,
            taken=(1, 2),
            refused=(RefusedRecord(record=3, code="fork", reason="another"),),
            wanted=((4, 6),),
        ),
        Part(of=f"{SERIES}:7", part=1, parts=2, sha256="0" * 64, content=b"\x00\xff"),
    ],
    ids=lambda one: type(one).__name__,
)
def test_every_message_comes_back_as_it_was(message):
    sent = replace(SENT, message=message)
    assert unpack_envelope(pack_envelope(sent)) == sent


@given(st.integers(0, 2**62))
@example(1_795_000_000_999_999_999)  # as a float of seconds it is the next one
def test_a_state_of_any_ns_comes_back_to_the_microsecond(utc_ns):
    state = replace(SENT, number=0, utc_ns=utc_ns, message=StateMessage(online=True))
    read = unpack_envelope(pack_envelope(state))
    assert (read.id, read.utc_ns) == (state.id, utc_ns // 1000 * 1000)


def test_the_same_message_has_the_same_id_and_another_has_another():
    assert SENT.id == replace(SENT, utc_ns=1).id
    state = replace(SENT, number=0, subject="state", message=StateMessage(online=True))
    ids = {SENT.id, replace(SENT, number=8).id, state.id, replace(state, utc_ns=1000).id}
    assert len(ids) == 4


def test_a_time_is_written_to_the_microsecond_whatever_it_was():
    state = replace(SENT, number=0, subject="state", message=StateMessage(online=True))
    odd = replace(state, utc_ns=state.utc_ns + 999)
    assert unpack_envelope(pack_envelope(odd)) == state


def test_the_sender_of_a_newer_versions_message_is_read_all_the_same():
    newer = changed(type="ramphold.record.v2", data={"colour": "red"})
    assert sender_of(newer) == ("press-1", SERIES, 7)
    for other in (b"{}", changed(source="press-1"), changed(source="ramphold/a b")):
        with pytest.raises(WireError):
            sender_of(other)


def test_a_message_larger_than_any_of_ours_is_refused_before_it_is_decoded():
    spaces = b" " * (16 * 2**20 - len(pack_envelope(SENT)))
    assert unpack_envelope(pack_envelope(SENT) + spaces) == SENT
    with pytest.raises(WireError, match="expected at most 16777216"):
        unpack_envelope(pack_envelope(SENT) + spaces + b" ")


def test_extensions_of_others_are_passed_over_and_unknown_data_is_not():
    assert unpack_envelope(changed(traceparent="00-1")) == SENT
    data = json.loads(pack_envelope(SENT))["data"]
    with pytest.raises(WireError, match="colour"):
        unpack_envelope(changed(data=data | {"colour": "red"}))


@pytest.mark.parametrize(
    "time",
    [
        "2026-11-18T11:06:40.123456Z", "2026-11-18T11:06:40.123456",
        "2026-11-18T12:06:40.123456+01:00",
    ],
)  # fmt: skip
def test_a_time_is_that_of_its_zone_and_of_utc_without_one(time):
    assert unpack_envelope(changed(time=time)) == SENT


def test_a_message_of_an_older_bench_without_a_later_field_is_read():
    data = json.loads(pack_envelope(SENT))["data"]
    del data["run"]
    assert unpack_envelope(changed(data=data)) == SENT


@pytest.mark.parametrize(
    "fields",
    [
        {"specversion": "0.3"}, {"type": "ramphold.record.v2"}, {"id": f"{SERIES}:8"},
        {"source": "ramphold/../x"}, {"source": "press"}, {"source": "ramphold/a/b"},
        {"source": "ramphold/#"}, {"source": "ramphold/" + "a" * 65}, {"sequence": "-00000000001"},
        {"sequence": "1" * 17}, {"series": "x" * 32}, {"time": "yesterday"}, {"data": None},
        {"subject": "s" * 101}, {"data": {"online": True}},
    ],
    ids=str,
)  # fmt: skip
def test_what_is_not_ours_is_refused(fields):
    with pytest.raises(WireError):
        unpack_envelope(changed(**fields))


@pytest.mark.parametrize("deep", [b"[" * 100_000, b'{"data":' * 100_000, b"9" * 100_000])
def test_nesting_and_numbers_without_end_are_refused(deep):
    with pytest.raises(WireError):
        unpack_envelope(deep)
    whole = pack_envelope(SENT)
    with pytest.raises(WireError):
        unpack_envelope(whole.replace(b'"data":{', b'"data":{"x":' + deep + b","))


@given(st.binary())
def test_any_bytes_give_an_error_of_ours(noise):
    with pytest.raises(WireError):
        unpack_envelope(noise)


@given(at=st.integers(0, 10**6), byte=st.integers(0, 255))
def test_any_changed_byte_gives_a_message_or_an_error_of_ours(at, byte):
    packed = bytearray(pack_envelope(SENT))
    packed[at % len(packed)] = byte
    try:
        got = unpack_envelope(bytes(packed))
    except WireError:
        return
    assert isinstance(got, Envelope)


@given(size=st.integers(0, 5000), limit=st.integers(800, 6000), seed=st.integers(0, 9))
def test_parts_keep_within_the_limit_and_join_in_any_order(size, limit, seed):
    sent = replace(
        SENT, message=Part(of="x", part=1, parts=1, sha256="0" * 64, content=b"q" * size)
    )
    packets = cut(sent, limit)
    assert all(len(packet) <= limit for packet in packets)
    if len(packets) == 1:
        assert packets == [pack_envelope(sent)]
        return
    envelopes = [unpack_envelope(packet) for packet in packets]
    assert len({one.id for one in envelopes}) == len(packets)
    parts = [one.message for one in envelopes]
    random.Random(seed).shuffle(parts)
    assert join([*parts, parts[0]]) == pack_envelope(sent)


def test_a_message_that_just_fits_is_not_cut():
    packed = pack_envelope(SENT)
    assert cut(SENT, len(packed)) == [packed]


def test_parts_fill_their_packets():
    sent = replace(SENT, message=replace_body("x" * 50_000))
    *full, _ = cut(sent, 6000)
    assert all(5400 < len(packet) <= 6000 for packet in full)


def test_a_message_may_take_all_the_parts_that_there_may_be():
    # Packets with room for 3 bytes of it each, of which 4096 hold 12 288.
    part = Part(of="x", part=1, parts=1, sha256="0" * 64, content=b"")
    left = 12_288 - len(pack_envelope(replace(SENT, message=part)))
    # Three bytes of content are four of its text, and a letter of a name is one.
    part = structs.replace(part, of="x" * (1 + left % 4), content=b"q" * (left // 4 * 3))
    assert len(cut(replace(SENT, message=part), 704)) == 4096
    more = structs.replace(part, of=f"{part.of}x")
    with pytest.raises(WireError, match="expected room for it in 4096 parts"):
        cut(replace(SENT, message=more), 704)


def test_parts_that_are_not_one_whole_message_are_refused():
    sent = replace(SENT, message=replace_body("x" * 5000))
    first, *rest = [unpack_envelope(packet).message for packet in cut(sent, 1500)]
    other = [unpack_envelope(p).message for p in cut(replace(sent, number=8), 1500)]
    for parts in ([], rest, [first, *other[1:]]):
        with pytest.raises(WireError):
            join(parts)
    spoilt = Part(
        of=first.of, part=1, parts=first.parts, sha256=first.sha256, content=first.content[::-1]
    )
    with pytest.raises(WireError, match="not those that were cut"):
        join([spoilt, *rest])


def test_a_message_that_no_number_of_parts_can_hold_is_refused():
    with pytest.raises(WireError, match="expected room"):
        cut(SENT, 300)
    # Packets with room for 3 bytes of it each, of which 4096 hold 12 kB.
    part = Part(of="x", part=1, parts=1, sha256="0" * 64, content=b"q" * 20_000)
    with pytest.raises(WireError, match="expected room"):
        cut(replace(SENT, message=part), 704)


def replace_body(body):
    return RecordMessage(before="", previous="", link="0" * 64, body=body)


def test_a_record_is_checked_against_its_link():
    assert MESSAGE.checked().record == 7
    with pytest.raises(WireError, match="link is not"):
        replace_body(BODY.decode()).checked()
    with pytest.raises(WireError, match="not a record"):
        replace_body("{}").checked()


def test_a_link_can_be_checked_without_our_program():
    text = MESSAGE.previous + MESSAGE.body
    assert MESSAGE.link == hashlib.sha256(text.encode()).hexdigest()


def test_topics_name_the_bench_and_nothing_else_can_stand_there():
    assert topic("press-1", "record") == "ramphold/1/press-1/record"
    assert bench_of("ramphold/1/press-1/record", "record") == "press-1"
    for name in ("ramphold/1/press-1/state", "ramphold/1/a/b/record", "ramphold/2/a/record",
                 "ramphold/1/+/record", "ramphold/1/a\n/record"):  # fmt: skip
        with pytest.raises(WireError):
            bench_of(name, "record")
    for name in ("", "a/b", "+", "#", "$share", "..", "press 1", "prässe", "a\n"):
        with pytest.raises(WireError):
            topic(name, "record")
