"""An unusual value that stands with a reason is in the bench's records, once."""

import asyncio

import pytest

from ramphold.clock import NS_PER_S
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon._unusual_values import record_unusual_values
from ramphold.daemon.config import UnusualConfig
from ramphold.sample import UnusualValueKept, unusual_between
from ramphold.testing import ManualClock
from support.configs import bench_config


def bore(value="1.5 in", reason="an old cell", by="AB"):
    return UnusualConfig(key="[cell] bore", value=value, reason=reason, by=by)


@pytest.fixture
def starts(tmp_path):
    """A function that starts a bench with one configuration after another; what it recorded."""

    def run(*configurations):
        async def flow():
            store = await StoreThread.open(tmp_path / "runs.sqlite3")
            clock = ManualClock(utc_ns=1000 * NS_PER_S)
            for unusual in configurations:
                await record_unusual_values(bench_config(unusual=unusual), store, clock)
                clock.advance(1.0)
            book = await store.run(lambda store: store.bench.record())
            await store.aclose()
            return [(one.value, one.reason, one.operator, one.in_use) for one in book.unusual]

        return asyncio.run(flow())

    return run


def test_it_is_recorded_once_however_often_the_daemon_starts(starts):
    assert starts((bore(),), (bore(),), (bore(),)) == [("1.5 in", "an old cell", "AB", True)]


def test_another_reason_or_person_is_recorded_anew(starts):
    found = starts((bore(),), (bore(reason="drawing 12"),), (bore(reason="drawing 12", by="KL"),))
    assert [one[1:3] for one in found] == [
        ("an old cell", "AB"),
        ("drawing 12", "AB"),
        ("drawing 12", "KL"),
    ]


def test_one_that_is_no_longer_in_the_configuration_is_recorded_as_given_up(starts):
    found = starts((bore(),), (), ())
    assert found[1:] == [("1.5 in", "no longer in the configuration", "-", False)]
    assert [one[3] for one in starts((bore(),))] == [True, False, True]


def kept(utc_ns, *, key="[cell] bore", in_use=True):
    return UnusualValueKept(
        operator="AB", utc_ns=utc_ns, key=key, value="1.5 in", reason="why", in_use=in_use
    )


@pytest.mark.parametrize(
    ("records", "found"),
    [
        ([kept(1)], [1]),  # still in use
        ([kept(1), kept(2, in_use=False)], []),  # given up before
        ([kept(1), kept(15, in_use=False)], [1]),  # given up within
        ([kept(12)], [12]),
        ([kept(21)], []),  # later
        ([kept(1), kept(5)], [5]),
        ([kept(1), kept(5, key="[press] rating")], [1, 5]),
    ],
)
def test_those_of_a_stretch_of_time_are_the_ones_in_use_in_it(records, found):
    assert [one.utc_ns for one in unusual_between(records, 10, 20)] == found
