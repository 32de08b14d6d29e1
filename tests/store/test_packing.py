"""A finished run's readings become one packed trace, and the disk gets its space back."""

import gzip
import hashlib
import random
from itertools import pairwise

import pytest
from msgspec.structs import replace

from ramphold.core import EndRun, Quality, Reading, RunPlan, Tracker
from ramphold.errors import StoreError
from ramphold.store import Store
from ramphold.testing.runs import GOOD_RUN, drawn
from ramphold.wire.packed_trace import trace_sha256
from support.specimens import add_specimen

PLAN = RunPlan(target_psi=4000)


def begin(store):
    add_specimen(store)
    return store.runs.begin(specimen=1, operator="KL", plan=PLAN, t_ns=0, utc_ns=1)


def end(store, run, readings=()):
    tracker = Tracker(PLAN, t_ns=0)
    events = tracker.command(EndRun(reason="done"), 5)
    store.runs.end(run, readings=readings, events=events, assessment=tracker.assess(), utc_ns=2)


def counts(seed, per_s=80):
    """A run through a noisy converter whose conversions come unevenly, 0.12 ms one sigma."""
    rng = random.Random(seed)
    readings = []
    for one in drawn(GOOD_RUN, per_s=per_s):
        raw = round(one.force_lbf * 85.87 + rng.gauss(0, 60))
        force_lbf = (raw - 27.7) / 85.87 + 1.3e-12 * raw * raw
        t_ns = one.t_ns + round(rng.gauss(0, 120_000))
        readings.append(replace(one, t_ns=t_ns, raw=raw, unit="count", force_lbf=force_lbf))
    return readings


def test_a_packed_run_reads_as_before(store, look):
    readings = [*counts(1, per_s=5), Reading(t_ns=1, force_lbf=0.5, quality=Quality.UNSTEADY,
                                              raw=5, exponent=-1, line=b"\xff")]  # fmt: skip
    run = begin(store)
    end(store, run, readings)
    before = store.runs.readings(run)
    assert store.runs.pack() == (run,)
    assert store.runs.readings(run) == before == readings
    assert look("SELECT count(*) FROM readings") == look("SELECT count(*) FROM reading_lines")
    assert look("SELECT readings FROM traces") == [(len(readings),)]


@pytest.mark.parametrize("statement", [1, 2, 3])
def test_a_run_that_is_packed_while_another_program_reads_it_reads_as_before(store, statement):
    # Fault: packed between two statements it had no readings, and was called damage.
    run = begin(store)
    end(store, run, counts(1, per_s=1))
    before, left = store.runs.readings(run), [statement]

    def pack(_):
        left[0] -= 1
        if left[0] == 0:
            store.runs.pack()

    with Store.read(store.path) as other:
        other.connection().db.set_trace_callback(pack)
        assert other.runs.readings(run) == before
        assert other.runs.readings(run) == before


def test_the_record_of_a_run_has_the_hashes_of_its_trace(store, look):
    run = begin(store)
    end(store, run, counts(1, per_s=1))
    store.runs.pack()
    finished = store.records.of_specimen(1)[-1]
    assert finished.trace_sha256 == trace_sha256(store.runs.trace(run))
    ((packed,),) = look("SELECT packed FROM traces")
    assert finished.packed_sha256 == hashlib.sha256(gzip.decompress(packed)).hexdigest()
    assert finished.readings == len(store.runs.readings(run))


def test_runs_are_packed_once_and_never_while_live(store):
    for _ in range(3):
        end(store, begin(store))
    live = begin(store)
    assert store.runs.pack(2) == (1, 2)
    assert store.runs.pack(5) == (3,)
    assert store.runs.pack() == ()
    end(store, live)
    assert store.runs.pack() == (live,)


def test_a_packing_that_fails_leaves_the_rows(store):
    run = begin(store)
    end(store, run, counts(1, per_s=1))
    store._connection.db.execute(
        "CREATE TRIGGER no BEFORE DELETE ON readings WHEN OLD.seq = 9 "
        "BEGIN SELECT RAISE(ABORT, 'disk gone'); END"
    )
    with pytest.raises(StoreError, match="disk gone"):
        store.runs.pack()
    assert store._connection.rows("SELECT count(*) FROM traces") == [(0,)]
    assert store.runs.readings(run) == counts(1, per_s=1)


@pytest.mark.slow
def test_a_run_at_80_readings_a_second_costs_at_most_300_kb_of_database(path):
    sizes = []
    for seed in range(4):
        with Store.open(path) as store:
            readings = counts(seed)
            end(store, begin(store), readings)
            store.runs.pack()
            kept = store.runs.readings(seed + 1)
        assert kept == readings
        sizes.append(path.stat().st_size)
    assert len(kept) > 19_000
    assert max(after - before for before, after in pairwise(sizes)) < 300_000
    assert sizes[-1] < 4 * 300_000
