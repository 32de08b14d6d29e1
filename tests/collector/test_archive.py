"""What every archive does, whichever database is under it."""

import hashlib
import itertools

import msgspec
import pytest

from ramphold.collector._archive_writing import (
    Outcome,
    add_part,
    file_records,
    forget_parts,
)
from ramphold.collector._message_check import RefusedMessage
from ramphold.collector.archive import open_archive
from ramphold.collector.archive_quarantine import clear, known_poison, quarantine, to_retry
from ramphold.errors import StoreError, WireError
from ramphold.sample import kind_name
from ramphold.wire import Part, StateMessage
from ramphold.wire.packed_trace import unpack_trace
from support.archived import changed, keep

LATER = 2_000_000_000_000_000_000


def file(archive, arrived, utc_ns=LATER):
    with archive.transaction():
        return file_records(archive.database, arrived, utc_ns)


def bench_of(archive, series="a" * 32):
    return next(one for one in archive.benches() if one.series == series)


def test_records_come_back_to_the_byte(archive, records, look):
    assert set(file(archive, records)) == {Outcome.FILED}
    there = look("SELECT series, record, bench, kind, body, previous, link FROM events ORDER BY 2")
    assert there == [
        (
            one.series,
            one.number,
            one.bench,
            kind_name(type(one.record)),
            one.message.body,
            one.message.previous,
            one.message.link,
        )
        for one in records
    ]


def test_a_run_comes_back_with_its_trace_to_the_last_reading(archive, records):
    file(archive, records)
    sent = next(one for one in records if one.message.run is not None)
    kept = archive.run("a" * 32, sent.record.run)
    assert kept == sent.message.run
    assert len(unpack_trace(kept.trace)) == sent.record.readings
    assert archive.run("a" * 32, 99) is None


def test_a_record_that_comes_twice_is_filed_once(archive, records, look):
    some = records[:5]
    assert file(archive, some + some) == [Outcome.FILED] * 5 + [Outcome.DUPLICATE] * 5
    assert file(archive, some) == [Outcome.DUPLICATE] * 5
    assert look("SELECT count(*) FROM events") == [(5,)]
    assert bench_of(archive).filed == 5


def test_a_number_that_comes_with_another_content_is_a_fork_and_changes_nothing(
    archive, records, look
):
    file(archive, records[:5])
    other = changed(records[2], body=records[2].message.body.replace("KL", "XX"), link="0" * 64)
    assert file(archive, [other]) == [Outcome.FORK]
    assert look("SELECT link FROM events WHERE record = 3") == [(records[2].message.link,)]


def test_a_series_belongs_to_the_bench_that_it_was_first_heard_from(archive, records, look):
    file(archive, records[:2])
    assert file(archive, [msgspec.structs.replace(records[2], bench="p2")]) == [Outcome.FORK]
    assert look("SELECT count(*), min(bench), max(bench) FROM events") == [(2, "p1", "p1")]


def test_nothing_is_filed_of_a_transaction_that_failed(archive, records, look):
    def failing():
        with archive.transaction():
            file_records(archive.database, records[:5], LATER)
            raise KeyError

    with pytest.raises(KeyError):
        failing()
    assert look("SELECT count(*) FROM events") == [(0,)]
    assert archive.benches() == []
    assert set(file(archive, records[:5])) == {Outcome.FILED}


def test_an_archive_that_was_closed_holds_what_it_held(archive, url, records):
    file(archive, records)
    archive.close()
    with open_archive(url) as again:
        assert bench_of(again).filed == len(records)
        assert file(again, records[:1]) == [Outcome.DUPLICATE]


def test_two_collectors_file_into_one_archive(archive, url, records, look):
    with open_archive(url) as other:
        assert file(archive, records[:10]) == [Outcome.FILED] * 10
        assert file(other, records[5:15]) == [Outcome.DUPLICATE] * 5 + [Outcome.FILED] * 5
    assert look("SELECT count(*) FROM events") == [(15,)]


@pytest.mark.parametrize("table", ["events", "run_data"])
@pytest.mark.parametrize("change", ["UPDATE {} SET record = record + 1000", "DELETE FROM {}"])
def test_the_database_itself_refuses_to_change_what_was_filed(archive, records, table, change):
    file(archive, records)
    with pytest.raises(WireError, match=f"{table}: rows are only added"), archive.transaction():
        archive.database.write(change.format(table))


@pytest.mark.parametrize(
    ("filed", "gaps"),
    [
        ([1, 2, 3], []),
        ([1, 3], [(2, 2)]),
        ([2, 3, 7, 9], [(1, 1), (4, 6), (8, 8)]),
        ([4], [(1, 3)]),
    ],
)
def test_a_gap_in_the_numbering_is_noticed(archive, records, filed, gaps):
    file(archive, [records[number - 1] for number in filed])
    assert archive.gaps(bench_of(archive)) == gaps


def test_what_a_bench_has_and_does_not_wait_to_send_is_missing_too(archive, records):
    file(archive, records[:3])

    times = itertools.count()

    def told(**what):
        state = StateMessage(**{"online": True, "newest": 3} | what)
        assert keep(archive, state, next(times), LATER)
        return archive.gaps(bench_of(archive))

    assert told() == []
    assert told(newest=9) == [(4, 9)]
    assert told(newest=9, waiting=6) == []


def test_what_was_refused_is_no_gap(archive, records):
    file(archive, [records[0], records[3]])
    with archive.transaction():
        quarantine(archive.database, [refusal(record=2)], LATER)
    assert archive.gaps(bench_of(archive)) == [(3, 3)]


def test_beyond_what_was_refused_a_bench_is_asked_for_what_it_does_not_wait_to_send(
    archive, records
):
    file(archive, records[:3])
    state = StateMessage(online=True, newest=7, parked=1)
    with archive.transaction():
        quarantine(archive.database, [refusal(record=4)], LATER)
    keep(archive, state, 1, LATER)
    assert archive.gaps(bench_of(archive)) == [(5, 7)]
    keep(archive, msgspec.structs.replace(state, newest=4), 2, LATER)
    assert archive.gaps(bench_of(archive)) == []


def refusal(payload=b"\x00\xff{", **what):
    return RefusedMessage(**{
        "topic": "ramphold/1/p1/record", "bench": "p1", "series": "a" * 32, "record": None,
        "code": "invalid", "reason": "not JSON", "payload": payload,
    } | what)  # fmt: skip


def test_a_message_in_quarantine_is_kept_to_the_byte_and_once_however_often_it_comes(archive, look):
    with archive.transaction():
        for utc_ns in (LATER, LATER + 1, LATER + 2):
            quarantine(archive.database, [refusal()], utc_ns)
        quarantine(archive.database, [refusal(b"other")], LATER)
    assert look(
        "SELECT topic, code, reason, payload, utc_ns, newest_utc_ns, times FROM quarantine "
        "ORDER BY id LIMIT 1"
    ) == [("ramphold/1/p1/record", "invalid", "not JSON", b"\x00\xff{", LATER, LATER + 2, 3)]


def test_what_is_in_quarantine_is_told_of_each_bench_with_the_newest_reason(archive):
    assert archive.quarantined() == []
    with archive.transaction():
        quarantine(archive.database, [refusal(b"1", bench="p2", reason="too deep")], LATER + 1)
        quarantine(
            archive.database, [refusal(b"2", bench=None, reason="no topic of ours")], LATER + 2
        )
        quarantine(archive.database, [refusal(b"3", reason="not JSON")], LATER + 3)
        quarantine(archive.database, [refusal(b"4", reason="no record")], LATER + 4)
        quarantine(archive.database, [refusal(b"3", reason="not JSON")], LATER + 5)
    told = [(one.bench, one.messages, one.newest_utc_ns, one.reason)
            for one in archive.quarantined()]  # fmt: skip
    assert told == [
        (None, 1, LATER + 2, "no topic of ours"),
        ("p1", 2, LATER + 5, "not JSON"),
        ("p2", 1, LATER + 1, "too deep"),
    ]


def test_of_each_bench_the_newest_200_messages_are_kept_and_the_others_counted(archive, look):
    with archive.transaction():
        quarantine(archive.database, [refusal(b"x", bench="p2")], LATER)
    for number in range(0, 450, 50):
        with archive.transaction():
            several = [refusal(b"%03d" % one) for one in range(number, number + 50)]
            quarantine(archive.database, several, LATER + number)
    kept = look("SELECT payload FROM quarantine WHERE bench = 'p1' ORDER BY id")
    assert kept == [(b"%03d" % one,) for one in range(250, 450)]
    told = [(one.bench, one.messages, one.dropped, one.dropped_bytes)
            for one in archive.quarantined()]  # fmt: skip
    assert told == [("p1", 200, 250, 750), ("p2", 1, 0, 0)]


def test_of_each_bench_8_mib_are_kept(archive, look):
    with archive.transaction():
        several = [refusal(bytes([one]) * 1_000_000) for one in range(20)]
        quarantine(archive.database, several, LATER)
        quarantine(archive.database, [refusal(b"y" * 9_000_000, bench="p2")], LATER)
    assert look("SELECT count(*), sum(length(payload)) FROM quarantine WHERE bench = 'p1'") == [
        (8, 8_000_000)
    ]
    told = [(one.bench, one.messages, one.dropped, one.dropped_bytes, one.reason)
            for one in archive.quarantined()]  # fmt: skip
    assert told == [
        ("p1", 8, 12, 12_000_000, "not JSON"), ("p2", 0, 1, 9_000_000, "too many at a time"),
    ]  # fmt: skip


def test_what_of_a_bench_was_refused_is_deleted_by_name_with_its_counts(archive):
    with archive.transaction():
        quarantine(archive.database, [refusal(b"y" * 9_000_000), refusal()], LATER)
        quarantine(archive.database, [refusal(b"3", bench="p2")], LATER)
    with archive.transaction():
        assert clear(archive.database, "p1") == 1
    assert [one.bench for one in archive.quarantined()] == ["p2"]


def test_poison_is_known_and_not_retried_by_the_version_that_met_it(archive):
    with archive.transaction():
        quarantine(archive.database, [refusal(poison=True), refusal(b"no poison")], LATER)
    topic = "ramphold/1/p1/record"
    expected = hashlib.sha256(topic.encode() + b"\0\x00\xff{").hexdigest()
    assert known_poison(archive.database) == [expected]
    assert [payload for _, _, payload in to_retry(archive.database, 0, 9)] == [b"no poison"]
    archive.database.write("UPDATE quarantine SET version = 'an older one'")
    assert known_poison(archive.database) == []
    assert len(to_retry(archive.database, 0, 9)) == 2


def parts(whole, cut):
    pieces = [whole[at : at + cut] for at in range(0, len(whole), cut)]
    return [
        Part(of=f"{'a' * 32}:7", part=number, parts=len(pieces),
             sha256=hashlib.sha256(whole).hexdigest(), content=piece)
        for number, piece in enumerate(pieces, 1)
    ]  # fmt: skip


def test_parts_are_put_together_in_whatever_order_they_come_and_go_then(archive, look):
    whole = bytes(range(256)) * 10
    one, two, *rest = parts(whole, 500)
    with archive.transaction():
        for part in (two, *rest, two):
            assert add_part(archive.database, "p1", part, LATER) is None
    with archive.transaction():
        assert add_part(archive.database, "p1", one, LATER) == whole
    assert look("SELECT count(*) FROM parts") == [(0,)]


def test_parts_of_another_whole_are_not_mixed_in(archive):
    one, two = parts(b"first whole", 6)
    other, _ = parts(b"other whole", 6)
    with archive.transaction():
        assert add_part(archive.database, "p1", other, LATER) is None
        assert add_part(archive.database, "p1", two, LATER) is None
        assert add_part(archive.database, "p1", one, LATER) == b"first whole"


def test_parts_that_are_not_what_was_cut_are_refused_and_forgotten(archive, look):
    one, two = parts(b"first whole", 6)
    with archive.transaction():
        add_part(archive.database, "p1", one, LATER)
        with pytest.raises(WireError, match="not those that were cut"):
            add_part(archive.database, "p1", msgspec.structs.replace(two, content=b"forge"), LATER)
    assert look("SELECT count(*) FROM parts") == [(0,)]


def test_parts_whose_whole_never_came_are_forgotten_in_time(archive, look):
    one, _ = parts(b"first whole", 6)
    with archive.transaction():
        add_part(archive.database, "p1", one, LATER)
        forget_parts(archive.database, LATER)
    assert look("SELECT count(*) FROM parts") == [(1,)]
    with archive.transaction():
        forget_parts(archive.database, LATER + 1)
    assert look("SELECT count(*) FROM parts") == [(0,)]


def test_a_benchs_state_is_the_newest_and_only_its_own(archive):
    state = StateMessage(online=True, newest=3, waiting=1)
    gone = msgspec.structs.replace(state, online=False)
    assert keep(archive, state, 7, LATER)
    # By a clock that was set back.
    assert keep(archive, gone, 5, LATER + 5)
    assert not keep(archive, state, 8, LATER + 9, bench="p2")
    # The broker repeats it to a collector that connects: nothing was heard from the bench.
    assert keep(archive, gone, 5, LATER + 99)
    (bench,) = archive.benches()
    assert (bench.bench, bench.online, bench.heard_utc_ns) == ("p1", False, LATER + 5)
    assert msgspec.json.decode(bench.state, type=StateMessage) == gone


def test_a_value_that_no_database_can_hold_is_refused_as_such(archive, records):
    record = msgspec.structs.replace(records[0].record, utc_ns=1 << 70)
    huge = msgspec.structs.replace(records[0], record=record)
    with pytest.raises(WireError, match="refused this"), archive.transaction():
        file_records(archive.database, [huge], LATER)
    assert file(archive, records[:1]) == [Outcome.FILED]


def test_an_archive_of_a_newer_version_is_refused(archive, url):
    archive.database.write("INSERT INTO archive_steps VALUES (99)")
    archive.close()
    with pytest.raises(StoreError, match="a newer version wrote it"):
        open_archive(url)
    with pytest.raises(StoreError, match="a newer version wrote it"):
        open_archive(url, read_only=True)


def test_an_archive_to_be_read_only_is_not_made_and_not_written(archive, url, records):
    file(archive, records[:3])
    with open_archive(url, read_only=True) as reader:
        assert bench_of(reader).filed == 3
        with pytest.raises(StoreError), reader.transaction():
            file_records(reader.database, records[:4], LATER)


def test_a_database_without_an_archive_is_not_read(url):
    with pytest.raises(StoreError):
        open_archive(url, read_only=True)
