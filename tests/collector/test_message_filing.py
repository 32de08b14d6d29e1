"""A batch of messages into the archive, and what the benches are told."""

from dataclasses import replace

import msgspec
import pytest

from ramphold.collector._message_filing import FiledMessages, IncomingMessage, file_messages
from ramphold.wire import (
    Part,
    Receipt,
    StateMessage,
    cut,
    decode_body,
    encode_body,
    link,
    pack_envelope,
)
from support.archived import arrived

TOPIC = "ramphold/1/p1/record"
LATER = 2_000_000_000_000_000_000


def sent(*envelopes, topic=TOPIC):
    return [arrived(topic, pack_envelope(one)) for one in envelopes]


@pytest.fixture
def series(envelopes):
    return envelopes[0].series


@pytest.fixture
def file(archive):
    return lambda messages: file_messages(archive, messages, LATER).receipts


def restored(envelope, after):
    """What a database writes that was restored from an old copy: other contents, same numbers."""
    record = decode_body(envelope.message.body)
    body = encode_body(msgspec.structs.replace(record, operator="XY")).decode()
    previous = envelope.message.previous
    message = msgspec.structs.replace(
        envelope.message, body=body, link=link(previous, body.encode()), before=after
    )
    return replace(envelope, message=message)


def test_a_bench_is_told_what_is_filed_and_again_when_it_sends_it_again(file, envelopes, series):
    messages = sent(*envelopes[:7])
    expected = {("p1", series): Receipt(series=series, taken=(1, 2, 3, 4, 5, 6, 7))}
    assert file(messages) == expected
    assert file(messages) == expected


def test_what_comes_in_any_order_is_filed(file, envelopes, series):
    order = [3, 0, 6, 1, 5, 2, 4]
    receipts = [file(sent(envelopes[number])) for number in order]
    assert [one["p1", series].taken for one in receipts] == [(number + 1,) for number in order]


def test_a_restored_database_is_refused_from_the_first_number_that_differs(
    file, envelopes, series, look
):
    file(sent(*envelopes[:9]))
    first = restored(envelopes[5], envelopes[4].message.link)
    second = restored(envelopes[6], first.message.link)
    receipt = file(sent(first, second))["p1", series]
    assert [(one.record, one.code) for one in receipt.refused] == [(6, "fork"), (7, "fork")]
    assert receipt.taken == ()
    assert look("SELECT record, code, times FROM quarantine ORDER BY record") == [
        (6, "fork", 1), (7, "fork", 1),
    ]  # fmt: skip
    assert look("SELECT count(*) FROM events WHERE operator = 'XY'") == [(0,)]


@pytest.mark.parametrize("filed", [[4, 6], [4], [6]])
def test_a_record_that_does_not_follow_from_those_beside_it_is_a_fork(
    file, envelopes, filed, series
):
    file(sent(*(envelopes[number] for number in filed)))
    after = "0" * 64 if filed == [4] else envelopes[4].message.link
    receipt = file(sent(restored(envelopes[5], after)))["p1", series]
    assert [(one.record, one.code) for one in receipt.refused] == [(6, "fork")]


def test_a_fork_within_one_batch_is_noticed_too(file, envelopes, series):
    other = restored(envelopes[1], envelopes[0].message.link)
    receipt = file(sent(envelopes[0], envelopes[1], other, envelopes[2]))["p1", series]
    assert receipt.taken == (1, 2, 3)
    assert [(one.record, one.code) for one in receipt.refused] == [(2, "fork")]


def test_a_series_of_another_bench_is_refused_to_whoever_sends_it(file, envelopes, series):
    file(sent(*envelopes[:3]))
    thief = replace(envelopes[3], bench="p2")
    receipts = file(sent(thief, topic="ramphold/1/p2/record"))
    assert list(receipts) == [("p2", series)]
    assert [(one.record, one.code) for one in receipts["p2", series].refused] == [(4, "fork")]
    assert file(sent(envelopes[3]))["p1", series].taken == (4,)


def test_nonsense_among_the_rest_is_kept_and_told_to_nobody(file, envelopes, series, look):
    messages = [*sent(envelopes[0]), arrived(TOPIC, b"{"), *sent(envelopes[1])]
    assert file(messages) == {("p1", series): Receipt(series=series, taken=(1, 2))}
    assert look("SELECT topic, bench, series, record, code, payload FROM quarantine") == [
        (TOPIC, "p1", None, None, "invalid", b"{")
    ]


def test_a_wrong_hash_is_told_to_the_bench_and_kept(file, envelopes, series, look):
    broken = replace(
        envelopes[2], message=msgspec.structs.replace(envelopes[2].message, link="0" * 64)
    )
    (refused,) = file(sent(broken))["p1", series].refused
    assert (refused.record, refused.code) == (3, "hash")
    assert look("SELECT payload FROM quarantine") == [(pack_envelope(broken),)]


def test_a_run_in_parts_is_joined_with_the_last_of_them_whichever_that_is(archive, envelopes):
    run = next(one for one in envelopes if one.subject == "run")
    pieces = [arrived(TOPIC, piece) for piece in cut(run, 4096)]
    assert len(pieces) > 2
    for sent_now, joined in (
        (pieces[1:], ()), (pieces[1:], ()), (pieces[:1], ((TOPIC, pack_envelope(run)),)),
    ):  # fmt: skip
        assert file_messages(archive, sent_now, LATER) == FiledMessages({}, joined)


def test_of_parts_whose_whole_never_comes_the_oldest_are_dropped(archive, envelopes, look):
    run = next(one for one in envelopes if one.subject == "run")
    for number in range(40):
        part = Part(of=f"{run.series}:{number}", part=1, parts=2, sha256=f"{number:064x}",
                    content=bytes(1_000_000))  # fmt: skip
        one = replace(run, number=number, message=part)
        file_messages(archive, [IncomingMessage(TOPIC, b"", one)], LATER + number)
    ((kept, oldest),) = look("SELECT count(*), min(utc_ns) FROM parts")
    assert (kept, oldest) == (33, LATER + 7)


def test_a_state_is_kept_and_not_answered(file, envelopes, archive, series):
    state = replace(
        envelopes[0], number=0, subject="state", message=StateMessage(online=True, newest=4)
    )
    assert file(sent(state, topic="ramphold/1/p1/state")) == {}
    (bench,) = archive.benches()
    assert (bench.series, bench.online, bench.told_newest) == (series, True, 4)


def test_a_message_that_the_database_itself_refuses_is_set_aside_alone(
    archive, envelopes, series, look
):
    archive.database.write("CREATE UNIQUE INDEX odd ON events (bench, utc_ns)")
    same = {one.message.body: one for one in envelopes[:4]}
    utc = [decode_body(body).utc_ns for body in same]
    assert len(set(utc)) < len(utc)
    receipt = file_messages(archive, sent(*envelopes[:6]), LATER).receipts["p1", series]
    assert set(receipt.taken) | {one.record for one in receipt.refused} == {1, 2, 3, 4, 5, 6}
    assert {one.code for one in receipt.refused} == {"invalid"}
    assert look("SELECT count(*) FROM events") == [(len(receipt.taken),)]
    ((kept,),) = look("SELECT count(*) FROM quarantine")
    assert kept == len(receipt.refused) > 0


def test_a_message_at_which_filing_fails_unforeseen_is_set_aside_alone(file, envelopes, look):
    run = next(one for one in envelopes if one.subject == "run")
    good = [one for one in envelopes[: run.number] if one is not run]
    broken = arrived(TOPIC, pack_envelope(run))
    # No check lets such a record through: it stands for a fault of our own.
    held = msgspec.structs.replace(broken.checked.message, run="nothing that a run is")
    broken = replace(broken, checked=msgspec.structs.replace(broken.checked, message=held))
    receipt = file([*sent(*good), broken])["p1", run.series]
    assert set(receipt.taken) == {one.number for one in good}
    assert [one.record for one in receipt.refused] == [run.number]
    assert look("SELECT record, code FROM quarantine") == [(run.number, "invalid")]
