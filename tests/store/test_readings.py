"""A reading comes back to the last digit, whatever its quality."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from ramphold.core import EndRun, Quality, Reading, RunPlan, Tracker
from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.store._connection import StoreConnection
from ramphold.store._schema_made import make_schema
from ramphold.units import FORCE_UNITS
from support.specimens import add_specimen

INT64 = st.integers(-(2**63), 2**63 - 1)
NUMBERED = (Quality.GOOD, Quality.UNSTEADY)


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """One store for all examples: opening one costs more than an example."""
    with Store.open(tmp_path_factory.mktemp("readings") / "bench.sqlite") as store:
        add_specimen(store)
        yield store


def through(store, readings):
    run = store.runs.begin(
        specimen=1, operator="KL", plan=RunPlan(target_psi=4000), t_ns=0, utc_ns=0
    )
    tracker = Tracker(RunPlan(target_psi=4000), t_ns=0)
    events = tracker.command(EndRun(reason="done"), 0)
    try:
        store.runs.append(run, readings=readings)
    finally:
        store.runs.end(run, events=events, assessment=tracker.assess(), utc_ns=0)
    return store.runs.readings(run)


def same(one, other):
    forces = (one.force_lbf, other.force_lbf)
    if all(math.isnan(force) for force in forces):
        one, other = replace(one, force_lbf=0.0), replace(other, force_lbf=0.0)
    return one == other


@st.composite
def any_readings(draw):
    quality = draw(st.sampled_from(Quality))
    force = st.floats(allow_nan=quality not in NUMBERED)
    return Reading(
        t_ns=draw(INT64),
        force_lbf=draw(force),
        quality=quality,
        raw=draw(INT64),
        exponent=draw(st.integers(-20, 20)),
        unit=draw(st.sampled_from([*FORCE_UNITS, "count", ""])),
        line=draw(st.binary(max_size=40)),
    )


@given(st.lists(any_readings(), max_size=8))
def test_any_reading_comes_back_as_it_was(shared, readings):
    kept = through(shared, readings)
    assert len(kept) == len(readings)
    assert all(same(one, other) for one, other in zip(kept, readings, strict=True))


@given(raw=st.integers(-(10**9), 10**9), places=st.integers(0, 4))
def test_printed_digits_alone_give_the_force_back(shared, raw, places):
    printed = Decimal(raw).scaleb(-places)
    reading = Reading(t_ns=1, force_lbf=float(printed), raw=raw, exponent=-places, unit="lbf")
    (kept,) = through(shared, [reading])
    assert kept == reading
    newest = "SELECT force_lbf FROM readings ORDER BY run DESC LIMIT 1"
    assert shared._connection.rows(newest) == [(None,)]


def test_a_row_of_printed_digits_holds_integers_only(store, look):
    add_specimen(store)
    through(store, [Reading(t_ns=5, force_lbf=12566.5, raw=125665, exponent=-1)])
    assert look("SELECT * FROM readings") == [(1, 0, 5, 125665, 1, None)]
    assert look("SELECT * FROM reading_forms") == [(1, "good", -1, "lbf")]


def test_a_force_that_its_digits_do_not_give_is_kept_beside_them(store, look):
    add_specimen(store)
    reading = Reading(t_ns=5, force_lbf=817.25, raw=1234567, unit="count")
    assert through(store, [reading]) == [reading]
    assert look("SELECT raw, force_lbf FROM readings") == [(1234567, 817.25)]


def test_a_good_reading_without_a_force_is_our_bug_and_is_refused(store):
    add_specimen(store)
    with pytest.raises(StoreError, match="a good reading without a force"):
        through(store, [Reading(t_ns=5, force_lbf=math.nan)])


def test_a_minute_of_readings_at_80_a_second_takes_under_30_bytes_each(path):
    connection = StoreConnection(path)
    make_schema(connection)
    with Store(connection) as store:
        add_specimen(store)
        (before,) = connection.rows("PRAGMA page_count")[0]
        start_ns = 86_400_000_000_000
        readings = [
            Reading(t_ns=start_ns + n * 12_500_123, force_lbf=n * 0.5, raw=n * 5, exponent=-1)
            for n in range(4800)
        ]
        through(store, readings)
        (after,) = connection.rows("PRAGMA page_count")[0]
    assert (after - before) * 4096 / len(readings) < 30  # feasibility: 25.6 for rows like these
