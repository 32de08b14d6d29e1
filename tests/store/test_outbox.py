"""A record waits in the outbox from the transaction that adds it until a receipt ends it."""

import os
import signal
import sqlite3

import pytest

from ramphold.errors import InputError, StoreError
from ramphold.method.gravimetric import Material
from ramphold.sample import Load, MassTaken, SampleReceived, ValueEntered
from ramphold.store import Store
from ramphold.wire import pack_envelope, unpack_envelope
from support.specimens import add_specimen

RECEIVED = SampleReceived(
    operator="KL", utc_ns=1_000, laboratory_number="26-0417", client_reference="pit 3",
    material=Material.SAND, size="20/40", edition="ISO 13503-2:2024",
)  # fmt: skip


@pytest.fixture
def filled(store):
    """A store with a sample and five records of it."""
    sample = store.samples.add(RECEIVED).sample
    for value in range(4):
        store.records.append(value_of(sample, value))
    return store


def value_of(sample, value):
    return ValueEntered(
        sample=sample, operator="KL", utc_ns=2_000, what="turbidity", value=float(value)
    )


def ended(store, followed):
    add_specimen(store)
    run = store.runs.begin(
        specimen=1, operator="KL", plan=followed.tracker.plan, t_ns=0, utc_ns=10**9
    )
    followed.write(store, run)
    return store.records.newest()


def test_every_record_waits_in_the_order_of_its_number(filled):
    assert filled.outbox.waiting() == [1, 2, 3, 4, 5]
    assert filled.outbox.waiting(after=2, limit=2) == [3, 4]
    assert filled.outbox.depth() == (5, 0)


def test_a_record_that_was_not_kept_does_not_wait(filled):
    mass = MassTaken(
        sample=1, operator="KL", utc_ns=3, test="moisture", item="cup", load=Load.NET, mass_g=9.0,
        t_ns=1,
    )  # fmt: skip
    filled.records.append(mass)
    with pytest.raises(StoreError, match="there already"):
        filled.records.append(mass)
    assert filled.outbox.waiting() == [1, 2, 3, 4, 5, 6]


def test_killed_between_record_and_outbox_neither_is_there(path):
    with Store.open(path) as store:
        store.samples.add(RECEIVED)
    child = os.fork()
    if not child:
        raw = sqlite3.connect(path, isolation_level=None)
        raw.execute("BEGIN IMMEDIATE")
        body = (
            raw.execute("SELECT body FROM records")
            .fetchone()[0]
            .replace('"record":1', '"record":2')
            .replace('"sample":1', '"sample":2')
            .replace("26-0417", "26-0418")
        )
        raw.execute("INSERT INTO records (id, body, link) VALUES (2, ?, '')", (body,))
        os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)
    with Store.open(path) as store:
        assert (store.records.newest(), store.outbox.waiting()) == (1, [1])


def test_only_a_receipt_for_its_series_ends_a_record(filled):
    series = filled.outbox.series()
    filled.outbox.taken("0" * 32, [1, 2])
    assert filled.outbox.waiting() == [1, 2, 3, 4, 5]
    filled.outbox.taken(series, [1, 3])
    filled.outbox.taken(series, [1, 3])
    assert filled.outbox.waiting() == [2, 4, 5]


def test_a_refused_record_is_parked_with_its_reason_and_the_rest_goes_on(filled):
    filled.outbox.park(filled.outbox.series(), 2, "its link is wrong")
    assert filled.outbox.waiting() == [1, 3, 4, 5]
    assert filled.outbox.parked() == [(2, "its link is wrong")]
    assert filled.outbox.depth() == (4, 1)
    assert filled.outbox.unpark() == 1
    assert filled.outbox.waiting() == [1, 2, 3, 4, 5]


def test_a_receipt_ends_a_record_that_was_refused_before(filled):
    filled.outbox.park(filled.outbox.series(), 2, "of a kind that the server does not know yet")
    filled.outbox.taken(filled.outbox.series(), [2])
    assert (filled.outbox.waiting(), filled.outbox.parked()) == ([1, 3, 4, 5], [])


def test_what_the_server_misses_is_sent_again_though_it_was_taken(filled):
    series = filled.outbox.series()
    filled.outbox.taken(series, range(1, 6))
    filled.outbox.requeue(series, [(2, 3), (5, 900)])
    assert filled.outbox.waiting() == [2, 3, 5]


def test_a_new_series_sends_everything_anew(filled):
    first = filled.outbox.series()
    filled.outbox.taken(first, [1, 2, 3])
    second = filled.outbox.begin_series("b1")
    assert second != first
    assert filled.outbox.waiting() == [1, 2, 3, 4, 5]
    filled.outbox.taken(first, [3])  # late words for the series before
    filled.outbox.park(first, 4, "fork")
    assert filled.outbox.waiting() == [1, 2, 3, 4, 5]
    assert filled.outbox.envelope("b1", 2).series == second


def test_a_bench_that_is_given_another_name_sends_everything_anew_once(filled):
    first = filled.outbox.series()
    assert filled.outbox.series_for("b1") == filled.outbox.series_for("b1") == first
    filled.outbox.taken(first, [1, 2, 3])
    filled.outbox.park(first, 4, "of no kind that is known")
    second = filled.outbox.series_for("b2")
    assert second != first
    assert filled.outbox.waiting() == [1, 2, 3, 4, 5]
    filled.outbox.taken(second, [1])
    assert filled.outbox.series_for("b2") == second
    assert filled.outbox.waiting() == [2, 3, 4, 5]
    assert filled.outbox.series_for("b1") not in (first, second)


def test_a_series_that_began_anew_keeps_the_name(filled):
    filled.outbox.series_for("b1")
    anew = filled.outbox.begin_series("b1")
    assert filled.outbox.series_for("b1") == anew


def test_two_databases_never_share_a_series(tmp_path):
    with Store.open(tmp_path / "a") as one, Store.open(tmp_path / "b") as other:
        assert one.outbox.series() != other.outbox.series()


def test_an_envelope_binds_a_record_to_those_before_it(filled):
    envelopes = [filled.outbox.envelope("b1", record) for record in (1, 2, 3)]
    messages = [one.message for one in envelopes]
    assert [one.subject for one in envelopes] == ["sample", "value", "value"]
    assert [one.utc_ns for one in envelopes] == [1_000, 2_000, 2_000]
    assert messages[0].previous == messages[0].before == ""
    assert messages[1].previous == messages[1].before == messages[0].link
    assert messages[2].checked() == filled.records.one(3)


def test_the_line_of_the_bench_runs_across_its_chains(filled):
    filled.samples.add(SampleReceived(**{
        name: getattr(RECEIVED, name) for name in RECEIVED.__struct_fields__
    } | {"laboratory_number": "26-0418"}))  # fmt: skip
    message = filled.outbox.envelope("b1", 6).message
    assert message.previous == ""
    assert message.before == filled.outbox.envelope("b1", 5).message.link


def test_a_run_goes_out_with_all_its_readings_before_and_after_it_is_packed(store, followed):
    record = ended(store, followed)
    before = store.outbox.envelope("b1", record)
    assert before.message.checked() == store.records.one(record)
    assert store.runs.pack() == (1,)
    after = store.outbox.envelope("b1", record)
    assert after.message.checked() == store.records.one(record)
    assert after.message.run.rows == before.message.run.rows
    assert unpack_envelope(pack_envelope(after)) == after


def test_a_record_that_is_not_there_is_named(store):
    with pytest.raises(InputError, match="no record 7"):
        store.outbox.envelope("b1", 7)


def test_every_numbering_that_records_were_sent_in_is_remembered(filled):
    first = filled.outbox.series_for("press-1")
    again = filled.outbox.begin_series("press-1")
    assert filled.outbox.series() == again != first
    assert filled.outbox.all_series() >= {first, again}
