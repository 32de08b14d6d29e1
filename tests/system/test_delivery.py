"""From the press to the archive: real daemon, real broker, real collector."""

import contextlib
import time

import pytest

from ramphold.control import methods
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
        specimen = methods.NewSpecimen(label="s", target_psi=4000, operator="ab")
        bench.call(methods.ADD_SPECIMEN, specimen)
        laboratory.delivered(bench)
        bench.call(methods.START_RUN, methods.StartRun(specimen=1, operator="ab"))
        for _ in range(10):
            press.send_load(5000)
            time.sleep(0.05)
        bench.call(methods.END_RUN, methods.EndRun(reason="enough", operator="ab"))
        began_s = time.perf_counter()
        until(lambda: laboratory.rows("SELECT readings FROM run_data WHERE readings > 5"))
        assert time.perf_counter() - began_s < 2
        laboratory.delivered(bench)
    finally:
        press.close()


def load_is_heard(press, bench):
    press.send_load(0)
    return any(one.name == "load" and one.ok for one in bench.status().instruments)
