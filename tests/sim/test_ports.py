"""The bench on real pseudo-terminals, read here by the operating system's own calls alone."""

import asyncio
import os
import tty
from contextlib import contextmanager

import pytest

from ramphold.errors import PortError
from ramphold.sim.ports import BenchClock, SimulatedPorts


@contextmanager
def opened(path):
    descriptor = os.open(path, os.O_RDWR | os.O_NOCTTY)
    try:
        tty.setraw(descriptor)
        yield descriptor
    finally:
        os.close(descriptor)


@pytest.fixture
def bench(tmp_path):
    with SimulatedPorts(tmp_path) as bench:
        yield bench


def test_the_clock_moves_only_when_told_and_never_back():
    clock = BenchClock(epoch_utc_ns=1_000)
    assert (clock.now_ns(), clock.utc_ns()) == (0, 1_000)
    clock.advance_to(50)
    clock.advance_to(40)
    assert (clock.now_ns(), clock.utc_ns()) == (50, 1_050)


def test_a_load_that_is_sent_can_be_read_at_its_port(bench):
    with opened(bench.load_path) as port:
        bench.send_load(100.0)
        assert os.read(port, 100) == b"US,GS,+ 000100.0 lbf\r\n"


def test_the_print_key_sends_what_stands_on_the_pan(bench):
    with opened(bench.balance_path) as port:
        bench.balance.put(39.52)
        bench.press_print_key()
        assert os.read(port, 100) == b"ST,+00039.520  g\r\n"


def test_a_query_is_answered_when_the_bench_serves(bench):
    with opened(bench.balance_path) as port:
        bench.serve()
        os.write(port, b"SI\r\n")
        bench.serve()
        assert os.read(port, 100) == b"S S      0.000 g\r\n"


def test_a_loop_answers_queries_by_itself_also_after_the_plug_was_pulled(bench):
    async def ask():
        loop = asyncio.get_running_loop()
        bench.serve_on(loop)
        bench.unplug("balance")
        bench.replug("balance")
        with opened(bench.balance_path) as port:
            answered = asyncio.Event()
            loop.add_reader(port, answered.set)
            os.write(port, b"S\r\n")
            await asyncio.wait_for(answered.wait(), 2)
            loop.remove_reader(port)
            answer = os.read(port, 100)
        bench.close()
        return answer

    assert asyncio.run(ask()) == b"S S      0.000 g\r\n"


def test_a_pulled_plug_ends_the_port_and_its_name(bench):
    with opened(bench.load_path) as port:
        bench.unplug("load")
        assert os.read(port, 100) == b""
    assert not bench.load_path.is_symlink()
    with pytest.raises(PortError, match="unplugged"):
        bench.send_load(1.0)


def test_a_plug_put_in_again_has_the_same_name_and_works(bench):
    bench.unplug("load")
    bench.replug("load")
    with opened(bench.load_path) as port:
        bench.send_load(0.0)
        assert os.read(port, 100) == b"ST,GS,+ 000000.0 lbf\r\n"


def test_pulling_or_putting_in_a_plug_twice_changes_nothing(bench):
    bench.replug("load")
    bench.unplug("load")
    bench.unplug("load")


def test_a_port_that_nobody_reads_is_an_error_and_never_a_wait(bench):
    with pytest.raises(PortError, match="nobody reads it"):
        bench.send_bytes("load", b"ST,GS,+ 000000.0 lbf\r\n" * 10_000)
