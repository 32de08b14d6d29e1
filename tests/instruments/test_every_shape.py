"""Every shape of line from a simulated instrument over a real port, read by the code for real ones.

The talkers are written from firmware-notes, the profiles apart from them.
"""

import asyncio
import math
from functools import partial

import pytest

from ramphold.core import MassState, Quality
from ramphold.instruments import (
    HealthState,
    InstrumentSetup,
    PortSettings,
    SerialPort,
    balance,
    load_indicator,
)
from ramphold.sim import BalanceTalker, LoadTalker
from ramphold.sim.ports import SimulatedPorts
from ramphold.testing import Inbox, ManualClock
from ramphold.wire import LOAD_PROFILES, MASS_PROFILES, load_profile, mass_profile

# Whether the value rests or moves, the line is the same.
SAYS_NOTHING_OF_REST = {"mode-letter", "net-line"}


def is_open(health):
    return health and health[-1].state is HealthState.OPEN


def with_unit(profiles, make, name, unit):
    return make(name, unit if profiles[name].needs_unit else "")


@pytest.mark.parametrize("name", LOAD_PROFILES)
def test_a_load_in_every_shape_is_read_at_rest_moving_pulled_and_out_of_range(name, tmp_path):
    readings, health = Inbox(), Inbox()
    with SimulatedPorts(tmp_path, load=LoadTalker(shape=name)) as bench:
        setup = InstrumentSetup(
            name="load", clock=ManualClock(), on_reading=readings.put, on_health=health.put
        )
        indicator = load_indicator(
            setup,
            partial(SerialPort, PortSettings(port=str(bench.load_path))),
            profile=with_unit(LOAD_PROFILES, load_profile, name, "lbf"),
        )
        indicator.start()
        health.wait_for(is_open)
        for force_lbf in (0.0, 12566.4, 12566.4, -3.1, 50_001.0, -50_001.0):
            bench.send_load(force_lbf)
        got = readings.wait_for(lambda items: len(items) == 6)
        indicator.stop()
    moving = Quality.GOOD if name in SAYS_NOTHING_OF_REST else Quality.UNSTEADY
    # The first line after the port opened may be doubted as a tail.
    assert [reading.quality for reading in got[1:]] == [
        moving,
        Quality.GOOD,
        moving,
        Quality.SATURATED,
        Quality.UNDER_RANGE,
    ]
    assert [reading.force_lbf for reading in got[1:4]] == pytest.approx([12566.4, 12566.4, -3.1])
    assert all(math.isnan(reading.force_lbf) for reading in got[4:])


async def masses_read(folder, name, mode, on_the_pan):
    """What a balance of a shape is read as, for each mass that is put on it."""
    # The first line after the port opened may be doubted as a tail.
    on_the_pan = [(0.0, True), *on_the_pan]
    readings, health, clock = Inbox(), Inbox(), ManualClock()
    with SimulatedPorts(folder, balance=BalanceTalker(reply=name, print_out=name)) as bench:
        bench.serve_on(asyncio.get_running_loop())
        setup = InstrumentSetup(
            name="balance", clock=clock, on_reading=readings.put, on_health=health.put
        )
        pan = balance(
            setup,
            partial(SerialPort, PortSettings(port=str(bench.balance_path))),
            profile=with_unit(MASS_PROFILES, mass_profile, name, "g"),
            mode=mode,
            every_s=0.5,
        )
        for count, (mass_g, stable) in enumerate(on_the_pan):
            bench.balance.put(mass_g, stable=stable)
            if count:
                clock.advance(0.5)
            else:
                pan.start()
                await asyncio.to_thread(health.wait_for, is_open)
            if mode != "query":
                bench.press_print_key()
            come = partial(readings.wait_for, lambda items, n=count + 1: len(items) == n)
            await asyncio.to_thread(come)
        await asyncio.to_thread(pan.stop)
    return [(reading.state, reading.mass_g) for reading in readings.items[1:]]


ASKED = [name for name, profile in MASS_PROFILES.items() if profile.query]
BY_ITSELF = [name for name, profile in MASS_PROFILES.items() if profile.tells_rest]


@pytest.mark.parametrize(
    ("name", "mode"),
    [(name, "query") for name in ASKED] + [(name, "print key") for name in BY_ITSELF],
)
def test_a_mass_in_every_shape_is_read_at_rest_moving_and_over_the_capacity(name, mode, tmp_path):
    pan = [(39.525, True), (12.351, False), (-0.012, True), (220.5, True)]
    assert asyncio.run(masses_read(tmp_path, name, mode, pan)) == [
        (MassState.STABLE, 39.525),
        (MassState.MOVING, 12.351),
        (MassState.STABLE, -0.012),
        (MassState.OVERLOAD, None),
    ]


@pytest.mark.parametrize("name", sorted(SAYS_NOTHING_OF_REST))
def test_a_shape_that_says_nothing_of_rest_is_read_from_the_print_key(name, tmp_path):
    pan = [(39.525, True), (-0.012, True), (220.5, True)]
    assert asyncio.run(masses_read(tmp_path, name, "print key", pan)) == [
        (MassState.STABLE, 39.525),
        (MassState.STABLE, -0.012),
        (MassState.OVERLOAD, None),
    ]
    silent = BalanceTalker(print_out=name)
    silent.put(12.351, stable=False)
    assert silent.print_key() == b""


def test_every_profile_of_a_load_and_of_a_balance_has_its_talker():
    for name in LOAD_PROFILES:
        assert LoadTalker(shape=name).line(1.0)
    assert {*ASKED, *BY_ITSELF, *SAYS_NOTHING_OF_REST} == set(MASS_PROFILES)
