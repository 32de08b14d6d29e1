"""A converter's thread: real bits or files below, readings and health above."""

import sys
import threading
from functools import partial

import pytest

from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.instruments import (
    BridgeConverter,
    BridgePins,
    Conversion,
    CountScale,
    HealthState,
    InstrumentSetup,
    Sampler,
    by_curve,
)
from ramphold.method.force_curve import CalibrationCurve
from ramphold.testing import BridgeChip, FakeGpio, Inbox, ManualClock, VirtualTime

OPENING, OPEN, SILENT, MISSING = map(HealthState, ("opening", "open", "silent", "missing"))
CURVE = CalibrationCurve(c0=0, c1=100, low_lbf=0, high_lbf=50_000)


class Watch:
    """A converter's thread with everything it said."""

    def __init__(self, open_converter, clock, *, scale=None, silent_s=0.5, on_reading=None):
        self.readings, self.health = Inbox(), Inbox()
        setup = InstrumentSetup(
            name="load",
            clock=clock,
            on_reading=on_reading or self.readings.put,
            on_health=self.health.put,
        )
        self.instrument = Sampler(setup, open_converter, by_curve(lambda: scale), silent_s=silent_s)

    def __enter__(self):
        self.instrument.start()
        return self

    def __exit__(self, *_):
        self.instrument.stop()

    def wait_state(self, *states):
        said = self.health.wait_for(lambda items: len(items) >= len(states))
        assert [health.state for health in said[: len(states)]] == list(states)
        return said[len(states) - 1]


class Scripted:
    """A converter that gives what a test hands it, and can break."""

    def __init__(self):
        self.closed = threading.Event()
        self.broken = None
        self._given = threading.Semaphore(0)
        self._items = []

    def give(self, *conversions):
        self._items += conversions
        self._given.release()

    def read(self):
        self._given.acquire(timeout=0.02)
        if self.broken:
            raise self.broken
        items, self._items = self._items, []
        return items

    def close(self):
        self.closed.set()


@pytest.fixture
def scripted():
    return Scripted()


def test_conversions_become_readings_in_order_with_their_own_times_and_counts(scripted):
    clock = ManualClock(now_ns=100)
    with Watch(lambda: scripted, clock, scale=CountScale(curve=CURVE, zero=50)) as watch:
        scripted.give(*(Conversion(t_ns=t, count=50 + 100 * t) for t in (1, 2, 3)))
        readings = watch.readings.wait_for(lambda items: len(items) == 3)
    assert [one.t_ns for one in readings] == [1, 2, 3]
    assert [one.force_lbf for one in readings] == [1.0, 2.0, 3.0]
    assert {(one.exponent, one.unit) for one in readings} == {(0, "count")}
    assert [one.raw for one in readings] == [150, 250, 350]
    assert scripted.closed.is_set()


def test_a_count_without_a_calibration_is_said_to_be_so_and_the_converter_is_open(scripted):
    with Watch(lambda: scripted, ManualClock()) as watch:
        scripted.give(Conversion(t_ns=1, count=7))
        (reading,) = watch.readings.wait_for(lambda items: len(items) == 1)
        assert reading.quality is Quality.UNCALIBRATED
        watch.wait_state(OPENING, OPEN)
    assert watch.instrument.health.ok


@pytest.mark.parametrize(
    ("quality", "told"),
    [
        (Quality.NOT_READY, "no conversion: check its supply, the data wire and the clock wire"),
        (Quality.STUCK_LOW, "data stays low: check for a short to ground"),
        (Quality.PULSE_TOO_LONG, "too busy"),
        (Quality.READ_TOO_LATE, "too busy"),
        (Quality.UNDER_RANGE, "sends too little"),
        (Quality.OVER_RANGE, "sends too much"),
    ],
)
def test_where_only_faults_come_it_is_silent_and_says_what_to_check(scripted, quality, told):
    clock = ManualClock()
    with Watch(lambda: scripted, clock) as watch:
        watch.wait_state(OPENING, OPEN)
        scripted.give(*[Conversion(t_ns=0, quality=quality)] * 2)
        watch.readings.wait_for(lambda items: len(items) == 2)
        clock.advance(0.5)
        assert told in watch.wait_state(OPENING, OPEN, SILENT).detail
        scripted.give(Conversion(t_ns=clock.now_ns()))
        assert watch.wait_state(OPENING, OPEN, SILENT, OPEN).detail == "ok"


def test_one_fault_among_readings_is_no_silence(scripted):
    clock = ManualClock()
    with Watch(lambda: scripted, clock) as watch:
        watch.wait_state(OPENING, OPEN)
        for number in range(10):
            clock.advance(0.1)
            faulty = number % 2
            scripted.give(
                Conversion(
                    t_ns=clock.now_ns(),
                    quality=Quality.PULSE_TOO_LONG if faulty else Quality.GOOD,
                )
            )
            watch.readings.wait_for(lambda items, number=number: len(items) == number + 1)
    assert [health.state for health in watch.health.items] == [OPENING, OPEN]


def test_what_came_and_what_was_skipped_is_counted_in_the_log(scripted, caplog):
    caplog.set_level("INFO")
    with Watch(lambda: scripted, ManualClock()) as watch:
        scripted.give(
            Conversion(t_ns=1),
            Conversion(t_ns=2, quality=Quality.STUCK_LOW),
            Conversion(t_ns=3, skipped=4),
        )
        watch.readings.wait_for(lambda items: len(items) == 3)
    (said,) = (one.getMessage() for one in caplog.records if "skipped" in one.getMessage())
    assert said == "load: 2 uncalibrated, 1 stuck low, 4 skipped"


@pytest.mark.slow
def test_a_converter_that_goes_away_is_missing_and_is_opened_again(scripted):
    first = scripted
    second = Scripted()
    opened = iter([first, PortError("there is no converter 'hx711'"), second])

    def open_it():
        one = next(opened)
        if isinstance(one, PortError):
            raise one
        return one

    with Watch(open_it, ManualClock()) as watch:
        watch.wait_state(OPENING, OPEN)
        first.broken = PortError("hx711 voltage0 went away: load its driver again")
        gone = watch.wait_state(OPENING, OPEN, MISSING)
        assert gone.detail == "hx711 voltage0 went away: load its driver again"
        assert first.closed.is_set()
        watch.health.wait_for(lambda items: items[-1].state is OPEN)
        second.give(Conversion(t_ns=1, count=9))
        assert watch.readings.wait_for(lambda items: len(items) == 1)[0].raw == 9
    assert second.closed.is_set()


# --- over the emulated converter -----------------------------------------------------------------


@pytest.fixture
def emulated(gpio_module):
    time = VirtualTime()
    chip = BridgeChip(time, code=lambda t_ns, _: t_ns // 10**6)
    gpio = FakeGpio(time, chip)
    gpio_module(gpio)
    opened = partial(BridgeConverter, BridgePins(), per_s=80, clock=time, sleep=time.sleep)
    return time, gpio, opened


def test_bits_become_readings_of_force_stamped_by_the_given_clock(emulated):
    time, gpio, opened = emulated
    with Watch(opened, time, scale=CountScale(curve=CURVE)) as watch:
        readings = watch.readings.wait_for(lambda items: len(items) >= 500)
    times = [one.t_ns for one in readings]
    assert times == sorted(set(times))
    for one in readings:
        # a count of the milliseconds at which its conversion ended, 100 counts to the lbf
        assert 0 <= one.t_ns / 1e6 - one.raw < 2
        assert one.force_lbf == pytest.approx(one.raw / 100)
    assert gpio.claimed == set()


def test_a_wire_pulled_off_is_told_as_silent_and_joined_again_as_open(emulated):
    time, gpio, opened = emulated
    time.plan(3, lambda: setattr(gpio, "data_wire", "off"))
    time.plan(6, lambda: setattr(gpio, "data_wire", "joined"))
    with Watch(opened, time) as watch:
        silent = watch.wait_state(OPENING, OPEN, SILENT)
        watch.wait_state(OPENING, OPEN, SILENT, OPEN)
    assert "check its supply, the data wire" in silent.detail
    missing = [one.t_ns for one in watch.readings.items if one.quality is Quality.NOT_READY]
    assert 3e9 < missing[0] < 3.05e9
    # stale after 0.5 s, told within 0.2 s of that
    assert 3.45e9 < silent.since_ns < 3.7e9
    assert 6e9 < watch.health.items[3].since_ns < 6.5e9


def test_without_the_library_the_load_is_missing_and_says_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "gpiod", None)
    opened = partial(BridgeConverter, BridgePins(), per_s=80, clock=ManualClock())
    with Watch(opened, ManualClock()) as watch:
        missing = watch.wait_state(OPENING, MISSING)
    assert "sudo sh systemd/install.sh" in missing.detail
