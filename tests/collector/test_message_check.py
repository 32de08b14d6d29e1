"""What bytes come to: no exception whatever arrives, and only what is right is taken."""

import gzip
import json
from dataclasses import replace

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.collector._message_check import CheckedRecord, RefusedMessage, check_message
from ramphold.sample import RunFinished, kind_name
from ramphold.wire import (
    Envelope,
    Receipt,
    RecordMessage,
    StateMessage,
    cut,
    decode_body,
    encode_body,
    link,
    pack_envelope,
)
from support.traces import without_last_reading

TOPIC = "ramphold/1/p1/record"

SERIES = "a" * 32


@pytest.fixture(scope="module")
def mass(envelopes):
    return next(one for one in envelopes if one.subject == "mass")


@pytest.fixture(scope="module")
def run(envelopes):
    return next(one for one in envelopes if one.subject == "run")


def changed(envelope, **what):
    """The same envelope with another message in it."""
    return replace(envelope, message=msgspec.structs.replace(envelope.message, **what))


def told(arrival):
    assert isinstance(arrival, RefusedMessage)
    return arrival.code, arrival.reason


def rewritten(envelope, **fields):
    """An envelope whose record says something else, with its link made anew."""
    record = msgspec.structs.replace(decode_body(envelope.message.body), **fields)
    body = encode_body(record).decode()
    return changed(envelope, body=body, link=link(envelope.message.previous, body.encode()))


def test_every_record_of_a_whole_bench_is_taken_as_it_is(envelopes):
    arrived = [check_message(TOPIC, pack_envelope(one)) for one in envelopes]
    assert all(isinstance(one, CheckedRecord) for one in arrived)
    assert [(one.record.record, one.message.body, one.message.link) for one in arrived] == [
        (one.number, one.message.body, one.message.link) for one in envelopes
    ]
    samples = [one.record for one in arrived if kind_name(type(one.record)) == "sample"]
    assert [one.laboratory_number for one in samples] == ["26-0417", "C-1", "C-2"]


def test_a_runs_trace_and_rows_come_with_it(run):
    arrived = check_message(TOPIC, pack_envelope(run))
    assert arrived.message.run == run.message.run
    record = arrived.record
    assert (record.state, record.verdict, record.target_psi) == ("complete", "pass", 8000.0)


def test_the_topics_bench_must_be_the_envelopes(mass):
    arrived = check_message("ramphold/1/p2/record", pack_envelope(mass))
    assert told(arrived) == ("invalid", "a message from p1 under the topic of p2")
    # Whoever is p2 must not park a record of p1.
    assert (arrived.bench, arrived.series, arrived.record) == ("p2", None, None)


@pytest.mark.parametrize(
    "topic",
    ["", "ramphold/1/p1/x/record", "ramphold/1//record", "ramphold/1/+/record", "x" * 60_000,
     "ramphold/1/p1/receipt", "ramphold/1/p\n1/record", "ramphold/1/../record"],
)  # fmt: skip
def test_another_topic_is_refused_and_its_text_made_harmless(topic, mass):
    arrived = check_message(topic, pack_envelope(mass))
    assert told(arrived)[0] == "invalid"
    assert arrived.topic.isprintable()
    assert len(arrived.topic) <= 300


def test_a_body_that_is_not_what_its_link_is_of_is_refused_by_its_hash(mass):
    body = mass.message.body.replace("KL", "XY")
    arrived = check_message(TOPIC, pack_envelope(changed(mass, body=body)))
    assert told(arrived)[0] == "hash"
    assert (arrived.bench, arrived.series, arrived.record) == ("p1", mass.series, mass.number)


def test_a_trace_that_lost_a_reading_is_refused_by_its_hash(run):
    held = run.message.run
    less = msgspec.structs.replace(held, trace=without_last_reading(held.trace))
    assert told(check_message(TOPIC, pack_envelope(changed(run, run=less))))[0] == "hash"


def test_rows_of_a_run_that_were_changed_are_refused_by_their_hash(run):
    held = run.message.run
    rows = msgspec.structs.replace(held.rows, events=held.rows.events[:-1])
    less = msgspec.structs.replace(held, rows=rows)
    assert told(check_message(TOPIC, pack_envelope(changed(run, run=less))))[0] == "hash"


def test_a_record_in_the_envelope_of_another_is_refused(mass):
    next_one = replace(mass, number=mass.number + 1)
    assert told(check_message(TOPIC, pack_envelope(next_one)))[0] == "invalid"
    assert told(check_message(TOPIC, pack_envelope(replace(mass, subject="tick"))))[0] == "invalid"


def test_a_text_with_a_nul_which_a_database_cuts_off_is_refused(mass):
    arrived = check_message(TOPIC, pack_envelope(rewritten(mass, operator="K\0L")))
    assert told(arrived) == ("invalid", "a text with a NUL in it")


@pytest.mark.parametrize("number", [2**63, -(2**63) - 1, 10**300])
def test_a_number_beyond_64_bits_is_refused(mass, number):
    arrived = check_message(TOPIC, pack_envelope(rewritten(mass, utc_ns=number)))
    assert told(arrived) == ("invalid", "utc_ns is beyond 64 bits")


def test_a_run_with_a_huge_number_is_refused(run):
    record = decode_body(run.message.body)
    assert isinstance(record, RunFinished)
    arrived = check_message(TOPIC, pack_envelope(rewritten(run, ended_utc_ns=2**64)))
    assert told(arrived) == ("invalid", "ended_utc_ns is beyond 64 bits")


def test_a_receipt_is_nothing_that_a_bench_sends():
    receipt = Envelope(bench="p1", series=SERIES, number=0, utc_ns=1, subject="receipt",
                       message=Receipt(series=SERIES))  # fmt: skip
    assert told(check_message(TOPIC, pack_envelope(receipt)))[0] == "invalid"


def test_a_state_is_taken_under_its_own_topic_only():
    state = Envelope(bench="p1", series=SERIES, number=0, utc_ns=1, subject="state",
                     message=StateMessage(online=True, newest=9, waiting=2, parked=1))  # fmt: skip
    arrived = check_message("ramphold/1/p1/state", pack_envelope(state))
    assert arrived == replace(state, utc_ns=0)  # its time comes to the microsecond
    assert told(check_message(TOPIC, pack_envelope(state)))[0] == "invalid"


def test_a_state_of_a_time_that_no_database_can_hold_is_refused():
    state = Envelope(bench="p1", series=SERIES, number=0, utc_ns=250_000_000_000 * 10**9,
                     subject="state", message=StateMessage(online=True))  # fmt: skip
    arrived = check_message("ramphold/1/p1/state", pack_envelope(state))
    assert told(arrived) == ("invalid", "time is beyond 64 bits")


def test_a_part_says_what_it_is_a_part_of(run):
    first, *_ = cut(run, 4096)
    arrived = check_message(TOPIC, first)
    assert isinstance(arrived, Envelope)
    assert (arrived.message.of, arrived.message.part) == (f"{run.series}:{run.number}", 1)


@given(st.text(max_size=80), st.binary(max_size=400))
def test_any_topic_and_any_bytes_are_refused(topic, payload):
    for one in (topic, TOPIC, "ramphold/1/p1/state"):
        arrived = check_message(one, payload)
        assert isinstance(arrived, RefusedMessage)
        assert arrived.payload == payload
        assert arrived.reason.isprintable()


_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner),
    max_leaves=6,
)


@given(st.data())
def test_a_message_with_anything_in_place_of_anything_is_filed_whole_or_refused(envelopes, data):
    whole = json.loads(pack_envelope(data.draw(st.sampled_from(envelopes[:60]))))
    inside = data.draw(st.booleans())
    place = whole["data"] if inside else whole
    place[data.draw(st.sampled_from([*place]))] = data.draw(_VALUES)
    arrived = check_message(TOPIC, json.dumps(whole).encode())
    assert isinstance(arrived, RefusedMessage | CheckedRecord)
    if isinstance(arrived, CheckedRecord):
        message = arrived.message
        assert link(message.previous, message.body.encode()) == message.link


@given(st.data())
def test_a_record_with_anything_in_place_of_a_field_is_filed_whole_or_refused(envelopes, data):
    envelope = data.draw(st.sampled_from(envelopes[:60]))
    record = json.loads(envelope.message.body)
    record[data.draw(st.sampled_from([*record]))] = data.draw(_VALUES)
    body = json.dumps(record)
    message = RecordMessage(
        before=envelope.message.before, previous=envelope.message.previous, body=body,
        link=link(envelope.message.previous, body.encode()), run=envelope.message.run,
    )  # fmt: skip
    arrived = check_message(TOPIC, pack_envelope(replace(envelope, message=message)))
    assert isinstance(arrived, RefusedMessage | CheckedRecord)


@pytest.mark.parametrize(
    "payload",
    [b"[" * 1_000_000, b'{"a":' * 500_000, b'"' + b"x" * 1_000_000 + b'"', b"9" * 1_000_000,
     b"\xff" * 1_000_000, b'{"specversion":"1.0","id":"' + b"x" * 1_000_000 + b'"}'],
    ids=["lists", "objects", "string", "number", "bytes", "id"],
)  # fmt: skip
def test_a_megabyte_of_nonsense_is_refused(payload):
    code, reason = told(check_message(TOPIC, payload))
    assert code == "invalid"
    assert len(reason) <= 300


def test_nesting_deep_inside_a_record_is_refused(mass):
    deep = changed(mass, body='{"kind":"mass","x":' + "[" * 100_000 + "]" * 100_000 + "}")
    assert told(check_message(TOPIC, pack_envelope(deep)))[0] == "invalid"


def test_a_small_packet_that_unpacks_to_gigabytes_is_refused(run):
    bomb = gzip.compress(b"[" + b"0," * 40_000_000)
    held = msgspec.structs.replace(run.message.run, trace=bomb)
    assert len(bomb) < 100_000
    assert told(check_message(TOPIC, pack_envelope(changed(run, run=held))))[0] == "hash"
