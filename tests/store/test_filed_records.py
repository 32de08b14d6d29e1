"""A database is filled up from what the laboratory's archive filed, or says what is wrong."""

import pytest
from msgspec import structs

from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.store.filed_records import FiledRecord, add_filed
from ramphold.wire.packed_trace import pack_trace, unpack_trace
from support.benches import FilledBench


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """A bench with one sample, crushed once."""
    made = FilledBench(tmp_path_factory.mktemp("bench") / "bench.sqlite3")
    made.sample("26-0417", stresses=[8000.0], replicates=1)
    yield made
    made.close()


@pytest.fixture
def filed(bench):
    """All its records as the archive files them."""
    outbox = bench.store.outbox
    messages = [
        outbox.envelope("p1", number).message
        for number in range(1, bench.store.records.newest() + 1)
    ]
    return [
        FiledRecord(number=number, body=one.body, link=one.link, run=one.run)
        for number, one in enumerate(messages, 1)
    ]


def with_run(filed, change):
    """The same records, with the run that goes with one of them changed."""
    return [one if one.run is None else structs.replace(one, run=change(one.run)) for one in filed]


def without_a_reading(run):
    readings = unpack_trace(run.trace).readings()[:-1]
    return structs.replace(run, trace=pack_trace(type(unpack_trace(run.trace)).of(readings)))


def test_an_empty_database_holds_all_of_it_afterwards_and_sends_none_of_it_again(
    bench, filed, path
):
    with Store.open(path) as store:
        assert add_filed(store, "s" * 32, "p1", filed) == len(filed)
        assert store.records.newest() == bench.store.records.newest()
        assert store.records.after(0) == bench.store.records.after(0)
        assert store.records.chain(1) == bench.store.records.chain(1)
        run = store.runs.newest()
        for what in ("one", "trace", "commands", "events"):
            assert getattr(store.runs, what)(run) == getattr(bench.store.runs, what)(run)
        assert store.outbox.depth() == (0, 0)
        assert store.outbox.series() == "s" * 32


def test_an_archive_without_later_records_takes_nothing_from_what_waits(bench):
    waits = bench.store.outbox.waiting()
    assert add_filed(bench.store, bench.store.outbox.series(), bench.store.outbox.bench(), []) == 0
    assert bench.store.outbox.waiting() == waits != []


@pytest.mark.parametrize(
    ("spoilt", "said"),
    [
        (lambda filed: [*filed[:3], *filed[4:]], "record 4 is missing in the archive"),
        (lambda filed: with_run(filed, without_a_reading), "its readings are not those recorded"),
        (lambda filed: with_run(filed, lambda _: None), "its rows are not those recorded"),
        (lambda filed: [*filed[:3], structs.replace(filed[3], body="{}")], "record 4 of the arch"),
        (
            lambda filed: [*filed[:3], structs.replace(filed[3], link="0" * 64)],
            "record 4 of the archive does not follow",
        ),
    ],
    ids=["missing", "reading", "rows", "no record", "another link"],
)
def test_what_is_not_as_it_was_filed_is_refused_and_what_came_before_it_stays(
    filed, path, spoilt, said
):
    given = spoilt(filed)
    with Store.open(path) as store:
        with pytest.raises(StoreError, match=said):
            add_filed(store, "s" * 32, "p1", given)
        added = store.records.newest()
        assert 3 <= added < len(filed)
        assert store.outbox.series() == "s" * 32
