"""An instrument's thread over real pseudo-terminals: what it reads, and how it says how it is."""

import os
import threading
import tty
from functools import partial
from time import perf_counter

import pytest

from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.instruments import (
    HealthState,
    InstrumentSetup,
    PortSettings,
    SerialPort,
    load_indicator,
)
from ramphold.sim import LineFault
from ramphold.sim.ports import SimulatedPorts
from ramphold.testing import Inbox, ManualClock, ScriptedPort, StepPort
from ramphold.wire import load_profile

LINE = b"ST,GS,+ 000100.0 lbf\r\n"


class Watch:
    """A load indicator with everything it said."""

    def __init__(self, open_it, on_reading=None):
        self.clock = ManualClock()
        self.readings, self.health = Inbox(), Inbox()
        setup = InstrumentSetup(
            name="load",
            clock=self.clock,
            on_reading=on_reading or self.readings.put,
            on_health=self.health.put,
        )
        self.instrument = load_indicator(setup, open_it, profile=load_profile("state-comma"))

    def __enter__(self):
        self.instrument.start()
        return self

    def __exit__(self, *_):
        self.instrument.stop()

    def wait_state(self, *states, timeout_s=3.0):
        """Wait until health went through exactly these states."""
        said = self.health.wait_for(lambda items: len(items) >= len(states), timeout_s)
        assert [health.state for health in said] == list(states)
        return said[-1]

    def wait_readings(self, count):
        return self.readings.wait_for(lambda items: len(items) >= count)


OPENING, OPEN, SILENT, UNREADABLE, FLOODING, MISSING = HealthState


@pytest.fixture
def bench(tmp_path):
    with SimulatedPorts(tmp_path) as bench:
        yield bench


@pytest.fixture
def watch(bench):
    with Watch(partial(SerialPort, PortSettings(port=str(bench.load_path)))) as watch:
        yield watch


def test_a_line_becomes_a_reading_stamped_with_the_time_it_came(bench, watch):
    watch.wait_state(OPENING, OPEN)
    watch.clock.advance(1.5)
    bench.send_load(100.0)
    (reading,) = watch.wait_readings(1)
    assert (reading.t_ns, reading.force_lbf) == (1_500_000_000, 100.0)
    assert (reading.raw, reading.exponent, reading.unit) == (1000, -1, "lbf")


def test_a_line_is_stamped_when_its_terminator_comes(bench, watch):
    watch.wait_state(OPENING, OPEN)
    bench.send_bytes("load", LINE[:9])
    bench.send_bytes("load", LINE[9:-2])
    watch.clock.advance(0.25)
    bench.send_bytes("load", LINE[-2:])
    assert [reading.t_ns for reading in watch.wait_readings(1)] == [250_000_000]


@pytest.mark.slow
def test_a_pulled_plug_is_told_and_a_plug_put_in_again_resumes(bench, watch):
    watch.wait_state(OPENING, OPEN)
    bench.send_load(1.0)
    watch.wait_readings(1)
    bench.unplug("load")
    gone = watch.wait_state(OPENING, OPEN, MISSING, timeout_s=1.0)
    assert gone.detail == f"{bench.load_path} went away: plug it in again, or switch it on"
    watch.clock.advance(7)
    bench.replug("load")
    said = watch.health.wait_for(lambda items: items[-1].state is OPEN)
    # Meanwhile it may have found the port to be missing, which is the same state since then.
    assert {health.since_ns for health in said if health.state is MISSING} == {gone.since_ns}
    assert said[-1].since_ns == 7_000_000_000
    bench.send_load(2.0)
    assert [reading.force_lbf for reading in watch.wait_readings(2)] == [1.0, 2.0]


def test_what_came_before_a_gap_never_completes_a_line_after_it():
    before = ScriptedPort([(b"", b"ST,GS,+ 0123")], vanishes=True)
    after = ScriptedPort([(b"", b"45.0 lbf\r\n" + LINE)])
    ports = iter([before, after])
    with Watch(lambda: next(ports)) as watch:
        readings = watch.wait_readings(2)
    assert [reading.quality for reading in readings] == [Quality.GARBLED, Quality.GOOD]
    assert readings[0].line == b"45.0 lbf"


@pytest.mark.slow
def test_a_port_that_is_missing_at_first_is_told_and_opened_when_it_comes(bench, tmp_path):
    bench.unplug("load")
    with Watch(partial(SerialPort, PortSettings(port=str(bench.load_path)))) as watch:
        missing = watch.wait_state(OPENING, MISSING)
        assert missing.detail.startswith(f"{tmp_path / 'load'} can't be opened: no such port")
        bench.replug("load")
        assert watch.wait_state(OPENING, MISSING, OPEN).ok


def test_a_port_that_stays_away_is_missing_since_the_first_time_whatever_the_reason():
    reasons = ["went away", "no such port"]

    def open_it():
        watch.clock.advance(1)
        if reasons:
            raise PortError(reasons.pop(0))
        return ScriptedPort([])

    watch = Watch(open_it)
    watch.instrument._stop = Impatient()
    with watch:
        watch.wait_state(OPENING, MISSING, MISSING, OPEN)
    said = [(health.detail, health.since_ns) for health in watch.health.items[1:]]
    assert said == [
        ("went away", 1_000_000_000),
        ("no such port", 1_000_000_000),
        ("ok", 3_000_000_000),
    ]


def after(watch, seconds, data):
    """A step of a port: time goes by, then these bytes have come."""

    def step():
        watch.clock.advance(seconds)
        return data

    return step


def test_silence_is_counted_from_the_last_line():
    watch = Watch(lambda: port)
    port = StepPort(
        [
            after(watch, 0.4, LINE),
            after(watch, 0.4, b""),
            after(watch, 0.0, LINE),
            after(watch, 0.4, b"ST,GS"),
            after(watch, 0.2, b""),
        ]
    )
    with watch:
        silent = watch.wait_state(OPENING, OPEN, SILENT)
    assert silent.since_ns == 1_400_000_000
    # The beginning of a line is no sign of a wrong rate.
    assert silent.detail.startswith("sends nothing")


def test_an_instrument_that_falls_silent_is_told_and_so_is_its_return(bench, watch):
    watch.wait_state(OPENING, OPEN)
    bench.send_load(1.0)
    watch.wait_readings(1)
    watch.clock.advance(0.5)
    silent = watch.wait_state(OPENING, OPEN, SILENT)
    assert silent.detail.startswith("sends nothing: check")
    bench.send_load(1.0)
    assert watch.wait_state(OPENING, OPEN, SILENT, OPEN).detail == "ok"


def test_bytes_without_a_line_are_one_garbled_reading_and_a_health_that_names_the_baud():
    port = ScriptedPort([(b"", b"\xfe" * 200), (b"", b"\xfe" * 200)])
    with Watch(lambda: port) as watch:
        assert port.wait()
        watch.clock.advance(0.5)
        unreadable = watch.wait_state(OPENING, OPEN, UNREADABLE)
    assert unreadable.detail == "bytes come, but no line: check baud and framing"
    assert [reading.quality for reading in watch.readings.items] == [Quality.GARBLED]


# The same line with even and with odd parity: the bit is worked out here, not by our code.
def with_parity(line, odd):
    return bytes(byte | 0x80 if f"{byte:b}".count("1") % 2 != odd else byte for byte in line)


@pytest.mark.parametrize(("odd", "framing"), [(False, "7E1"), (True, "7O1")])
def test_seven_bits_and_parity_read_as_eight_bits_are_recognised_and_said(odd, framing):
    port = ScriptedPort([(b"", with_parity(LINE, odd) * 3)], chunk=7)
    with Watch(lambda: port) as watch:
        assert port.wait()
        watch.clock.advance(0.5)
        unreadable = watch.wait_state(OPENING, OPEN, UNREADABLE)
    assert unreadable.detail == f"bytes have bit 7 set: framing looks like {framing}"


def test_lines_of_another_shape_are_told_and_so_is_the_first_right_one(bench, watch):
    watch.wait_state(OPENING, OPEN)
    bench.send_bytes("load", b"S S     12.345 g\r\n")
    watch.wait_readings(1)
    watch.clock.advance(0.5)
    unreadable = watch.wait_state(OPENING, OPEN, UNREADABLE)
    assert unreadable.detail.startswith("lines come, but of another shape")
    bench.send_load(1.0)
    assert watch.wait_state(OPENING, OPEN, UNREADABLE, OPEN).ok


def test_a_garbled_line_now_and_then_is_no_trouble():
    watch = Watch(lambda: port)
    port = StepPort([after(watch, 0.4, one) for one in (LINE, b"xx\r\n", LINE, b"yy\r\n", LINE)])
    with watch:
        assert port.over.wait(3)
    assert [health.state for health in watch.health.items] == [OPENING, OPEN]


def test_garbage_becomes_readings_without_a_number_and_the_next_line_is_read(bench, watch):
    watch.wait_state(OPENING, OPEN)
    for fault in (LineFault.GARBAGE, LineFault.OVERLOAD, LineFault.CUT, None, None):
        bench.send_load(1.0, fault)
    readings = watch.wait_readings(4)
    assert [reading.quality for reading in readings] == [
        Quality.GARBLED,
        Quality.SATURATED,
        Quality.GARBLED,
        Quality.GOOD,
    ]
    assert [reading.usable for reading in readings] == [False, False, False, True]
    assert readings[2].line == b"ST,GS,+ 0000ST,GS,+ 000001.0 lbf"


def pour(descriptor, stop):
    """Write lines as fast as the terminal takes them."""
    number = 0
    while not stop.is_set():
        lines = b"".join(b"ST,GS,+%d lbf\r\n" % (number + i) for i in range(50))
        number += 50
        rest = memoryview(lines)
        while rest and not stop.is_set():
            try:
                rest = rest[os.write(descriptor, rest) :]
            except BlockingIOError:
                stop.wait(0.0005)


@pytest.mark.slow
def test_a_flood_is_told_read_in_order_and_does_not_hold_up_the_stop():
    ours, theirs = os.openpty()
    tty.setraw(theirs)
    os.set_blocking(ours, False)
    stop = threading.Event()
    flood = threading.Thread(target=pour, args=(ours, stop))
    watch = Watch(partial(SerialPort, PortSettings(port=os.ttyname(theirs))))
    try:
        with watch:
            watch.wait_state(OPENING, OPEN)
            flood.start()
            watch.readings.wait_for(lambda items: len(items) >= 2000, timeout_s=10)
            watch.wait_state(OPENING, OPEN, FLOODING)
        assert not any(thread.name == "instrument load" for thread in threading.enumerate())
    finally:
        stop.set()
        flood.join()
        os.close(ours)
        os.close(theirs)
    forces = [reading.force_lbf for reading in watch.readings.items]
    assert forces == list(range(len(forces)))


def test_a_flood_is_read_no_faster_than_a_known_rate():
    lines = b"ST,GS,+1 lbf\r\n" * 200

    def pour_on():
        watch.clock.advance(0.1)
        return lines

    watch = Watch(lambda: port)
    watch.instrument._stop = impatient = Impatient()
    port = StepPort([pour_on] * 20)
    with watch:
        assert port.over.wait(3)
        assert watch.wait_state(OPENING, OPEN, FLOODING).detail.startswith("sends faster than any")
    # 40 kB are free. One read of 200 lines of 14 bytes, each 20 more for its frame, is 6800; 0.1 s
    # earn 2000 of them: after eight reads 400 are owed, after nine 5200.
    waits = [wait_s for wait_s in impatient.asked if wait_s is not None]
    assert waits[:3] == pytest.approx([0.02, 0.25, 0.25])
    assert len(watch.readings.items) == 20 * 200


def test_80_of_the_longest_lines_a_second_are_no_flood():
    line = b"ST,GS,+          012566.4 lbf\r\n"

    def one():
        watch.clock.advance(1 / 80)
        return line

    watch = Watch(lambda: port)
    port = StepPort([one] * 80 * 20)
    with watch:
        assert port.over.wait(3)
    assert [health.state for health in watch.health.items] == [OPENING, OPEN]


def test_the_rounds_of_a_thread_go_on_while_it_reads_waits_or_tries_its_port():
    seen = []

    def missing():
        seen.append(watch.instrument.rounds)
        if len(seen) < 3:
            raise PortError("no such port")
        return port

    port = StepPort([lambda: seen.append(watch.instrument.rounds) or b""] * 3)
    watch = Watch(missing)
    watch.instrument._stop = Impatient()
    with watch:
        assert port.over.wait(3)
    # Three tries of the port, and a round at each reading.
    assert seen == [1, 2, 3, 4, 5, 6]


def test_a_stop_ends_a_waiting_read_and_gives_the_port_back():
    port = ScriptedPort([(b"", LINE)])
    with Watch(lambda: port) as watch:
        watch.wait_readings(1)
    assert port.closed
    assert watch.instrument.health.state is OPEN


def test_a_stop_of_a_waiting_serial_port_takes_less_than_half_a_second(watch):
    watch.wait_state(OPENING, OPEN)
    began = perf_counter()
    watch.instrument.stop()
    assert perf_counter() - began < 0.5


def test_a_stop_cancels_a_read_however_long_that_would_wait():
    woken = threading.Event()
    port = StepPort([lambda: b"x" if woken.wait(5) else b""])
    port.cancel = woken.set
    with Watch(lambda: port) as watch:
        watch.wait_state(OPENING, OPEN)
    assert woken.is_set()


def test_a_stop_ends_the_wait_for_a_missing_port():
    def missing():
        raise PortError("load can't be opened: no such port")

    with Watch(missing) as watch:
        watch.wait_state(OPENING, MISSING)


def test_a_stop_without_a_start_does_nothing():
    Watch(lambda: ScriptedPort([])).instrument.stop()


@pytest.mark.slow
def test_a_bug_in_who_takes_the_readings_is_logged_and_the_reading_goes_on(caplog):
    taken = Inbox()

    def take(reading):
        taken.put(reading)
        if len(taken.items) == 1:
            raise ZeroDivisionError

    ports = iter([ScriptedPort([(b"", LINE)]), ScriptedPort([(b"", LINE)])])
    with Watch(lambda: next(ports), on_reading=take) as watch:
        taken.wait_for(lambda items: len(items) == 2)
        said = watch.wait_state(OPENING, OPEN, MISSING, OPEN)
    assert said.ok
    assert watch.health.items[2].detail == "stopped by a bug: see the log"
    assert "ZeroDivisionError" in caplog.text


class Impatient(threading.Event):
    """Notes how long it was asked to wait, and does not."""

    def __init__(self):
        super().__init__()
        self.asked = []

    def wait(self, timeout=None):
        self.asked.append(timeout)
        return super().wait(0)


def test_a_port_that_stays_away_is_tried_less_and_less_often_and_at_once_after_it_was_heard():
    dies = [ScriptedPort([], vanishes=True) for _ in range(6)]
    heard = ScriptedPort([(b"", LINE)], vanishes=True)
    ports = iter([*dies, heard, ScriptedPort([], vanishes=True), last := ScriptedPort([])])
    watch = Watch(lambda: next(ports))
    watch.instrument._stop = impatient = Impatient()
    with watch:
        assert last.wait()
        assert impatient.asked == [0.2, 0.4, 0.8, 1.6, 2.0, 2.0, 0.2, 0.4]
    assert all(port.closed for port in [*dies, heard, last])
