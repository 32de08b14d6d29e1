"""From the press to the archive: real daemon, real broker, real collector."""

import contextlib
import time

import pytest

from ramphold.control import run_methods, specimen_methods
from ramphold.sim.ports import SimulatedPorts
from support.benches import FilledBench
from support.laboratory import Laboratory, until

pytestmark = pytest.mark.slow


@pytest.fixture
def laboratory(tmp_path):
    made = Laboratory(tmp_path / "laboratory")
    yield made
    made.close()


def test_a_whole_sample_arrives_with_the_hashes_that_the_bench_has(laboratory):
    bench = laboratory.bench()
    with contextlib.closing(FilledBench(bench.database)) as filled:
        filled.certify()
        filled.sample("26-0417")
    bench.start()
    laboratory.delivered(bench)
    until(lambda: laboratory.rows("SELECT crush_class FROM samples") == [("9K",)])


def test_a_run_is_in_the_archive_within_two_seconds_of_its_end(laboratory):
    bench = laboratory.bench()
    press = SimulatedPorts(bench.folder)
    press.serve()
    try:
        bench.start()
        until(lambda: load_is_heard(press, bench))
        specimen = specimen_methods.AddSpecimenParams(label="s", target_psi=4000, operator="ab")
        bench.call(specimen_methods.ADD_SPECIMEN, specimen)
        laboratory.delivered(bench)
        bench.call(run_methods.START_RUN, run_methods.StartRunParams(specimen=1, operator="ab"))
        for _ in range(10):
            press.send_load(5000)
            time.sleep(0.05)
        bench.call(run_methods.END_RUN, run_methods.EndRunParams(reason="enough", operator="ab"))
        began_s = time.perf_counter()
        until(lambda: laboratory.rows("SELECT readings FROM run_data WHERE readings > 5"))
        assert time.perf_counter() - began_s < 2
        laboratory.delivered(bench)
    finally:
        press.close()


def load_is_heard(press, bench):
    press.send_load(0)
    return any(one.name == "load" and one.ok for one in bench.status().instruments)
