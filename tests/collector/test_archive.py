"""What every archive does, whichever database is under it."""

import hashlib
import itertools
from dataclasses import replace

import pytest

from ramphold.collector import open_archive
from ramphold.collector._arrivals import Outcome, PartArrived, Refusal, StateArrived
from ramphold.errors import StoreError, WireError
from ramphold.wire.packed_trace import unpack_trace

LATER = 2_000_000_000_000_000_000


def file(archive, arrived, utc_ns=LATER):
    with archive.transaction():
        return archive.file(arrived, utc_ns)


def bench_of(archive, series="a" * 32):
    return next(one for one in archive.benches() if one.series == series)


def test_records_come_back_to_the_byte(archive, records, look):
    assert set(file(archive, records)) == {Outcome.FILED}
    there = look("SELECT series, record, bench, kind, body, previous, link FROM events ORDER BY 2")
    assert there == [
        (one.series, one.record, one.bench, one.kind, one.body, one.previous, one.link)
        for one in records
    ]


def test_a_run_comes_back_with_its_trace_to_the_last_reading(archive, records):
    file(archive, records)
    sent = next(one.run for one in records if one.run is not None)
    kept = archive.run("a" * 32, sent.run)
    assert kept == sent
    assert len(unpack_trace(kept.trace)) == sent.readings
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
    other = replace(records[2], body=records[2].body.replace("KL", "XX"), link="0" * 64)
    assert file(archive, [other]) == [Outcome.FORK]
    assert look("SELECT link FROM events WHERE record = 3") == [(records[2].link,)]


def test_a_series_belongs_to_the_bench_that_it_was_first_heard_from(archive, records, look):
    file(archive, records[:2])
    assert file(archive, [replace(records[2], bench="p2")]) == [Outcome.FORK]
    assert look("SELECT count(*), min(bench), max(bench) FROM events") == [(2, "p1", "p1")]


def test_nothing_is_filed_of_a_transaction_that_failed(archive, records, look):
    def failing():
        with archive.transaction():
            archive.file(records[:5], LATER)
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
        state = {"bench": "p1", "series": "a" * 32, "online": True, "newest": 3, "waiting": 0,
                 "utc_ns": next(times)}  # fmt: skip
        with archive.transaction():
            assert archive.keep_state(StateArrived(**state | what, body="{}"), LATER)
        return archive.gaps(bench_of(archive))

    assert told() == []
    assert told(newest=9) == [(4, 9)]
    assert told(newest=9, waiting=6) == []


def test_what_was_refused_is_no_gap(archive, records):
    file(archive, [records[0], records[3]])
    with archive.transaction():
        archive.quarantine(refusal(record=2), LATER)
    assert archive.gaps(bench_of(archive)) == [(3, 3)]


def test_beyond_what_was_refused_a_bench_is_asked_for_what_it_does_not_wait_to_send(
    archive, records
):
    file(archive, records[:3])
    state = StateArrived(
        bench="p1", series="a" * 32, utc_ns=1, online=True, newest=7, waiting=0,
        body='{"parked":1}',
    )  # fmt: skip
    with archive.transaction():
        archive.quarantine(refusal(record=4), LATER)
        archive.keep_state(state, LATER)
    assert archive.gaps(bench_of(archive)) == [(5, 7)]
    with archive.transaction():
        archive.keep_state(replace(state, newest=4, utc_ns=2), LATER)
    assert archive.gaps(bench_of(archive)) == []


def refusal(payload=b"\x00\xff{", **what):
    return Refusal(**{
        "topic": "ramphold/1/p1/record", "bench": "p1", "series": "a" * 32, "record": None,
        "code": "invalid", "reason": "not JSON", "payload": payload,
    } | what)  # fmt: skip


def test_a_message_in_quarantine_is_kept_to_the_byte_and_once_however_often_it_comes(archive, look):
    with archive.transaction():
        for utc_ns in (LATER, LATER + 1, LATER + 2):
            archive.quarantine(refusal(), utc_ns)
        archive.quarantine(refusal(b"other"), LATER)
    assert look(
        "SELECT topic, code, reason, payload, utc_ns, newest_utc_ns, times FROM quarantine "
        "ORDER BY id LIMIT 1"
    ) == [("ramphold/1/p1/record", "invalid", "not JSON", b"\x00\xff{", LATER, LATER + 2, 3)]


def test_what_is_in_quarantine_is_told_of_each_bench_with_the_newest_reason(archive):
    assert archive.quarantined() == []
    with archive.transaction():
        archive.quarantine(refusal(b"1", bench="p2", reason="too deep"), LATER + 1)
        archive.quarantine(refusal(b"2", bench=None, reason="no topic of ours"), LATER + 2)
        archive.quarantine(refusal(b"3", reason="not JSON"), LATER + 3)
        archive.quarantine(refusal(b"4", reason="no record"), LATER + 4)
        archive.quarantine(refusal(b"3", reason="not JSON"), LATER + 5)
    told = [(one.bench, one.messages, one.newest_utc_ns, one.reason)
            for one in archive.quarantined()]  # fmt: skip
    assert told == [
        (None, 1, LATER + 2, "no topic of ours"),
        ("p1", 2, LATER + 5, "not JSON"),
        ("p2", 1, LATER + 1, "too deep"),
    ]


def parts(whole, cut):
    pieces = [whole[at : at + cut] for at in range(0, len(whole), cut)]
    return [
        PartArrived(bench="p1", event=f"{'a' * 32}:7", part=number, parts=len(pieces),
                    sha256=hashlib.sha256(whole).hexdigest(), data=piece)
        for number, piece in enumerate(pieces, 1)
    ]  # fmt: skip


def test_parts_are_put_together_in_whatever_order_they_come_and_go_then(archive, look):
    whole = bytes(range(256)) * 10
    one, two, *rest = parts(whole, 500)
    with archive.transaction():
        for part in (two, *rest, two):
            assert archive.add_part(part, LATER) is None
    with archive.transaction():
        assert archive.add_part(one, LATER) == whole
    assert look("SELECT count(*) FROM parts") == [(0,)]


def test_parts_of_another_whole_are_not_mixed_in(archive):
    one, two = parts(b"first whole", 6)
    other, _ = parts(b"other whole", 6)
    with archive.transaction():
        assert archive.add_part(other, LATER) is None
        assert archive.add_part(two, LATER) is None
        assert archive.add_part(one, LATER) == b"first whole"


def test_parts_that_are_not_what_was_cut_are_refused_and_forgotten(archive, look):
    one, two = parts(b"first whole", 6)
    with archive.transaction():
        archive.add_part(one, LATER)
        with pytest.raises(WireError, match="not those that were cut"):
            archive.add_part(replace(two, data=b"forge"), LATER)
    assert look("SELECT count(*) FROM parts") == [(0,)]


def test_parts_whose_whole_never_came_are_forgotten_in_time(archive, look):
    one, _ = parts(b"first whole", 6)
    with archive.transaction():
        archive.add_part(one, LATER)
        archive.forget_parts(LATER)
    assert look("SELECT count(*) FROM parts") == [(1,)]
    with archive.transaction():
        archive.forget_parts(LATER + 1)
    assert look("SELECT count(*) FROM parts") == [(0,)]


def test_a_benchs_state_is_the_newest_and_only_its_own(archive):
    state = StateArrived(
        bench="p1", series="a" * 32, utc_ns=7, online=True, newest=3, waiting=1, body='{"run":null}'
    )
    with archive.transaction():
        assert archive.keep_state(state, LATER)
        # By a clock that was set back.
        gone = replace(state, online=False, utc_ns=5)
        assert archive.keep_state(gone, LATER + 5)
        assert not archive.keep_state(replace(state, bench="p2", utc_ns=8), LATER + 9)
        # The broker says it again to a collector that comes: nothing was heard from the bench.
        assert archive.keep_state(gone, LATER + 99)
    (bench,) = archive.benches()
    assert (bench.bench, bench.online, bench.heard_utc_ns) == ("p1", False, LATER + 5)
    assert bench.state == '{"run":null}'


def test_a_value_that_no_database_can_hold_is_refused_as_such(archive, records):
    with pytest.raises(WireError, match="refused this"), archive.transaction():
        archive.file([replace(records[0], utc_ns=1 << 70)], LATER)
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
            reader.file(records[:4], LATER)


def test_a_database_without_an_archive_is_not_read(url):
    with pytest.raises(StoreError):
        open_archive(url, read_only=True)
