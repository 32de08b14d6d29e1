"""A balance that is asked, and one that speaks by its print key."""

import asyncio
from functools import partial

import pytest

from ramphold.core import MassState
from ramphold.errors import ConfigError
from ramphold.instruments import HealthState, InstrumentSetup, PortSettings, SerialPort, balance
from ramphold.sim.ports import SimulatedPorts
from ramphold.testing import Inbox, ManualClock, ScriptedPort, StepPort
from ramphold.wire import mass_profile


class Pan:
    """A balance with everything it said."""

    def __init__(self, open_it, **settings):
        self.clock = ManualClock()
        self.readings, self.health = Inbox(), Inbox()
        setup = InstrumentSetup(
            name="balance",
            clock=self.clock,
            on_reading=self.readings.put,
            on_health=self.health.put,
        )
        self.instrument = balance(setup, open_it, **settings)

    def __enter__(self):
        self.instrument.start()
        return self

    def __exit__(self, *_):
        self.instrument.stop()

    def wait_state(self, state):
        return self.health.wait_for(lambda items: items and items[-1].state is state)[-1]


def at(bench):
    return partial(SerialPort, PortSettings(port=str(bench.balance_path)))


QUERY = {"profile": mass_profile("reply-state"), "mode": "query"}
PRINT = {"profile": mass_profile("state-comma"), "mode": "print key"}


def test_a_balance_is_asked_when_its_port_opens_and_again_at_each_interval():
    port = ScriptedPort(
        [
            (b"SI\r\n", b"S D     12.351 g\r\n"),
            (b"SI\r\n", b"SI\r\nS S     12.345 g\r\n"),  # this one sends the command back too
        ],
        chunk=5,
    )
    with Pan(lambda: port, **QUERY, every_s=0.5) as pan:
        pan.readings.wait_for(lambda items: len(items) == 1)
        pan.clock.advance(0.5)
        readings = pan.readings.wait_for(lambda items: len(items) == 2)
    port.finish()
    assert [(r.t_ns, r.mass_g, r.state) for r in readings] == [
        (0, 12.351, MassState.MOVING),
        (500_000_000, 12.345, MassState.STABLE),
    ]
    assert [reading.usable for reading in readings] == [False, True]
    assert readings[1].line == b"S S     12.345 g"


def test_a_balance_is_silent_when_the_time_is_up_and_four_queries_stay_unanswered():
    def after(seconds):
        def step():
            said.append(pan.instrument.health.state)
            pan.clock.advance(seconds)
            return b""

        return step

    said = []
    pan = Pan(lambda: port, **QUERY, every_s=10)
    port = StepPort([after(60), after(10), after(10), after(1), after(1)])
    with pan:
        assert port.over.wait(3)
        silent = pan.wait_state(HealthState.SILENT)
    # A minute is long over, but only the fourth query that got no answer makes it silent.
    assert said == [HealthState.OPEN] * 4 + [HealthState.SILENT]
    assert silent.since_ns == 81_000_000_000
    assert silent.detail.startswith("does not answer")


def test_an_answer_to_any_query_in_time_keeps_a_balance_from_being_silent():
    def minute(answer):
        def step():
            pan.clock.advance(60)
            return answer

        return step

    pan = Pan(lambda: port, **QUERY, every_s=10)
    none = minute(b"")
    port = StepPort([none, none, none, minute(b"S I\r\n"), none, none])
    with pan:
        assert port.over.wait(3)
    assert [health.state for health in pan.health.items] == ["opening", "open"]


def test_a_print_key_gives_one_reading_with_its_line_and_nothing_is_sent():
    port = ScriptedPort([(b"", b"ST,+00039.520  g\r\n")])
    with Pan(lambda: port, **PRINT) as pan:
        (reading,) = pan.readings.wait_for(lambda items: len(items) == 1)
    port.finish()
    assert (reading.mass_g, reading.line) == (39.52, b"ST,+00039.520  g")


def test_a_balance_with_a_print_key_is_never_silent_however_long_nobody_presses_it():
    def a_day():
        pan.clock.advance(86_400)
        return b""

    pan = Pan(lambda: port, **PRINT)
    port = StepPort([a_day, a_day])
    with pan:
        assert port.over.wait(3)
    assert [health.state for health in pan.health.items] == ["opening", "open"]


@pytest.mark.parametrize(
    ("line", "state"),
    [
        (b"S I", MassState.BUSY),
        (b"S +", MassState.OVERLOAD),
        (b"S -", MassState.UNDERLOAD),
        (b"\xfe\xff", MassState.GARBLED),
    ],
)
def test_what_is_no_weighing_is_a_state_with_its_line_and_no_mass(line, state):
    port = ScriptedPort([(b"SI\r\n", line + b"\r\n")])
    with Pan(lambda: port, **QUERY) as pan:
        (reading,) = pan.readings.wait_for(lambda items: len(items) == 1)
    assert (reading.state, reading.mass_g, reading.line) == (state, None, line)
    assert not reading.usable


def test_a_balance_on_a_real_port_prints_what_stands_on_its_pan(tmp_path):
    with SimulatedPorts(tmp_path) as bench, Pan(at(bench), **PRINT) as pan:
        pan.wait_state(HealthState.OPEN)
        bench.balance.put(39.52)
        bench.press_print_key()
        (reading,) = pan.readings.wait_for(lambda items: len(items) == 1)
    assert (reading.mass_g, reading.state) == (39.52, MassState.STABLE)


def test_a_balance_on_a_real_port_answers_when_it_is_asked(tmp_path):
    async def ask():
        with SimulatedPorts(tmp_path) as bench:
            bench.balance.put(12.351, stable=False)
            bench.serve_on(asyncio.get_running_loop())
            with Pan(at(bench), **QUERY) as pan:
                return await asyncio.to_thread(pan.readings.wait_for, lambda items: items)

    (reading,) = asyncio.run(ask())
    assert (reading.mass_g, reading.state) == (12.351, MassState.MOVING)


def test_a_profile_that_has_no_query_is_refused_in_query_mode():
    with pytest.raises(ConfigError, match=r"'framed' can't be asked: expected mode 'print key'"):
        Pan(lambda: ScriptedPort([]), profile=mass_profile("framed"), mode="query")


@pytest.mark.parametrize("mode", ["query", "continuous"])
def test_a_profile_that_says_nothing_of_rest_is_taken_from_the_print_key_only(mode):
    with pytest.raises(ConfigError, match=r"does not say whether it is stable: expected mode"):
        Pan(lambda: ScriptedPort([]), profile=mass_profile("mode-letter"), mode=mode)


def test_of_what_a_print_key_prints_only_the_net_line_is_taken():
    ticket = (
        b"2026-11-25 14:05\r\nID 0007\r\n---\r\nG +151.961 g\r\nT +112.436 g\r\nN +39.525 g\r\n\r\n"
    )
    port = ScriptedPort([(b"", ticket)], chunk=9)
    with Pan(lambda: port, profile=mass_profile("net-line"), mode="print key") as pan:
        assert port.wait()
    assert [(r.mass_g, r.usable) for r in pan.readings.items] == [(39.525, True)]


def test_a_print_that_can_not_be_read_is_told_at_once():
    port = ScriptedPort([(b"", b"S\xd4\xac+000\xb1\xb2.3\xb45\xa0\xa0\xe7\x8d\n")])
    with Pan(lambda: port, **PRINT) as pan:
        told = pan.wait_state(HealthState.UNREADABLE)
    assert told.detail == "bytes have bit 7 set: framing looks like 7E1"


def test_a_balance_that_sends_by_itself_is_listened_to_and_told_when_it_stops():
    def send(data, seconds=0.1):
        def step():
            pan.clock.advance(seconds)
            return data

        return step

    pan = Pan(lambda: port, profile=mass_profile("mark-while-moving"), mode="continuous")
    line = b"     12.345 g ?\r\n"
    port = StepPort([send(b".345 g\r\n"), send(line), send(line[:-3] + b"\r\n"), send(b"", 2.0)])
    with pan:
        silent = pan.wait_state(HealthState.SILENT)
    # What came first may be the tail of a line, and looks like a whole one.
    assert [r.state for r in pan.readings.items] == ["garbled", "moving", "stable"]
    assert silent.detail.startswith("sends nothing")


def test_the_first_print_after_the_port_opened_counts():
    port = ScriptedPort([(b"", b"     12.345 g\r\n")])
    with Pan(lambda: port, profile=mass_profile("mark-while-moving"), mode="print key") as pan:
        (reading,) = pan.readings.wait_for(lambda items: len(items) == 1)
    assert reading.usable


def test_each_shape_that_can_be_asked_is_asked_in_its_own_words():
    port = ScriptedPort([(b"\x1bP\r\n", b"+   12.345 g  \r\n")])
    with Pan(lambda: port, profile=mass_profile("unit-at-rest", "g"), mode="query") as pan:
        (reading,) = pan.readings.wait_for(lambda items: len(items) == 1)
    port.finish()
    assert (reading.mass_g, reading.state) == (12.345, MassState.STABLE)
