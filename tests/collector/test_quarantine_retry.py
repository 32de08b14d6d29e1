"""What was refused is read again by a newer version, and filed where it can be read now."""

from dataclasses import replace

import msgspec
import pytest

from ramphold.collector._message_check import RefusedMessage, check_message
from ramphold.collector._message_filing import file_messages
from ramphold.collector._quarantine_retry import file_retried
from ramphold.collector.archive_quarantine import quarantine, to_retry
from ramphold.wire import Receipt, StateMessage, decode_body, encode_body, link, pack_envelope
from support.archived import arrived

TOPIC = "ramphold/1/p1/record"
LATER = 2_000_000_000_000_000_000
KINDS = "not a record of a sample: Invalid value 'mass' - at `$.kind`"


@pytest.fixture
def series(envelopes):
    return envelopes[0].series


@pytest.fixture
def refuse(archive):
    """Leave envelopes in quarantine as an older collector does that does not know their kind."""

    def refuse(*envelopes, code="invalid", topic=TOPIC):
        with archive.transaction():
            for one in envelopes:
                refused = RefusedMessage(
                    topic=topic, bench="p1", series=one.series, record=one.number or None,
                    code=code, reason=KINDS, payload=pack_envelope(one),
                )  # fmt: skip
                quarantine(archive.database, [refused], LATER - 1)

    return refuse


def retried(archive):
    """What is told in all, until all was looked at."""
    after, told = 0, []
    while messages := to_retry(archive.database, after, 20):
        checked = [(number, check_message(*message)) for number, *message in messages]
        told.append(file_retried(archive, checked, LATER))
        after = messages[-1][0]
    return told


def file(archive, *envelopes):
    return file_messages(archive, [arrived(TOPIC, pack_envelope(one)) for one in envelopes], LATER)


def test_what_can_be_read_now_is_filed_told_and_in_quarantine_no_more(
    archive, refuse, envelopes, series, look
):
    file(archive, *envelopes[:4], envelopes[6])
    refuse(*envelopes[4:6])
    assert retried(archive) == [{("p1", series): Receipt(series=series, taken=(5, 6))}]
    assert look("SELECT record, body FROM events ORDER BY record") == [
        (one.number, one.message.body) for one in envelopes[:7]
    ]
    assert archive.quarantined() == []
    (bench,) = archive.benches()
    assert (bench.filed, archive.gaps(bench)) == (7, [])


def test_a_run_that_can_be_read_now_comes_with_its_trace(archive, refuse, envelopes, series):
    run = next(one for one in envelopes if one.subject == "run")
    refuse(run)
    retried(archive)
    assert archive.run(series, 1).trace == run.message.run.trace


def test_a_record_that_was_sent_again_meanwhile_is_told_and_let_go_too(
    archive, refuse, envelopes, series
):
    refuse(envelopes[0])
    file(archive, envelopes[0])
    assert retried(archive) == [{("p1", series): Receipt(series=series, taken=(1,))}]
    assert archive.quarantined() == []


def test_what_still_can_not_be_read_stays_as_it_was(archive, envelopes, series, look):
    packed = pack_envelope(envelopes[2])
    newer = [
        packed.replace(b"ramphold.record.v1", b"ramphold.record.v9"),
        packed.replace(b'"data":{', b'"data":{"of a newer version":1,'),
        packed.replace(b'\\"kind\\":', b'\\"kind\\":\\"of a newer version\\",\\"was\\":'),
    ]
    assert len({packed, *newer}) == 4
    messages = [arrived(TOPIC, one) for one in (b"{", *newer)]
    receipts = file_messages(archive, messages, LATER - 1).receipts
    # Each is told, so that the bench goes on with the rest.
    assert [one.record for one in receipts["p1", series].refused] == [3, 3, 3]
    there = look("SELECT * FROM quarantine ORDER BY id")
    assert retried(archive) == [{}]
    assert look("SELECT * FROM quarantine ORDER BY id") == there
    assert archive.benches() == []


def test_a_fork_stays_a_fork(archive, refuse, envelopes, look):
    file(archive, *envelopes[:2])
    record = msgspec.structs.replace(decode_body(envelopes[1].message.body), operator="XY")
    body = encode_body(record).decode()
    message = msgspec.structs.replace(
        envelopes[1].message, body=body, link=link(envelopes[1].message.previous, body.encode())
    )
    refuse(replace(envelopes[1], message=message))
    refuse(envelopes[2], code="fork")
    assert retried(archive) == [{}]
    assert look("SELECT record, times FROM quarantine ORDER BY id") == [(2, 1), (3, 1)]
    assert look("SELECT record, operator FROM events ORDER BY record") == [(1, "KL"), (2, "KL")]


def test_what_the_database_itself_refuses_stays_and_the_rest_is_filed(
    archive, refuse, envelopes, series, look
):
    archive.database.write("CREATE UNIQUE INDEX odd ON events (bench, utc_ns)")
    assert envelopes[0].utc_ns == envelopes[1].utc_ns
    file(archive, envelopes[0])
    refuse(envelopes[1], envelopes[4])
    assert retried(archive) == [{("p1", series): Receipt(series=series, taken=(5,))}]
    assert look("SELECT record, times FROM quarantine") == [(2, 1)]


def test_an_old_state_that_can_be_read_now_goes_and_changes_nothing(archive, refuse, envelopes):
    def state(newest):
        message = StateMessage(online=True, newest=newest)
        return replace(envelopes[0], number=0, subject="state", message=message)

    topic = "ramphold/1/p1/state"
    packed = pack_envelope(state(9))
    file_messages(archive, [arrived(topic, packed)], LATER)
    refuse(state(4), topic=topic)
    assert retried(archive) == [{}]
    assert archive.quarantined() == []
    assert archive.benches()[0].told_newest == 9


def test_much_is_looked_at_in_small_batches(archive, refuse, envelopes, series):
    refuse(*envelopes[:45])
    told = [one["p1", series].taken for one in retried(archive)]
    assert [len(one) for one in told] == [20, 20, 5]
    assert sum(told, ()) == tuple(range(1, 46))
