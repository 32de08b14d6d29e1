import math
import random
import statistics

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ramphold.sim import LeverMove, Press, PressParameters, Sand, Sensor, SensorParameters

SMOOTH = PressParameters(gap_cm3=0.0, breaks_per_s=0.0)
TIGHT = PressParameters(gap_cm3=0.0, breaks_per_s=0.0, leak_s=1e9)
TICK_NS = 25_000_000


class Hand:
    """Moves a press's lever evenly, a tick at a time, with the returns left out."""

    def __init__(self, parameters: PressParameters) -> None:
        self.press = Press(parameters, random.Random(1))
        self.t_ns = 0
        self.press.step(0, LeverMove())

    def pull(self, size: float, lasting_s: float) -> float:
        ticks = round(lasting_s * 1e9 / TICK_NS)
        for _ in range(ticks):
            self.press.lever = 0.0
            self.t_ns += TICK_NS
            self.press.step(self.t_ns, LeverMove(travel=size / ticks))
        return self.press.stress_psi

    def ramp_to(self, psi: float) -> float:
        while self.press.stress_psi < psi:
            self.pull(0.005, 0.15)
        return self.press.stress_psi


@pytest.mark.parametrize(
    ("at_psi", "gain_psi"),
    # The figures the press was laid out for; guesses, not measurements.
    [(1000, 820), (2000, 930), (4000, 1000), (8000, 1100), (12_000, 1190)],
)
def test_a_full_stroke_gains_what_a_small_hand_pump_would(at_psi, gain_psi):
    hand = Hand(SMOOTH)
    before = hand.ramp_to(at_psi)
    assert hand.pull(1.0, 0.75) - before == pytest.approx(gain_psi, rel=0.05)


def test_the_load_lost_after_a_stroke_follows_the_logarithm_of_time():
    hand = Hand(TIGHT)
    hand.ramp_to(3875)
    after = hand.pull(0.125, 0.3)
    at_1_s, at_10_s, at_100_s, at_1000_s = (
        after - hand.pull(0.0, wait_s) for wait_s in (1.0, 9.0, 90.0, 900.0)
    )
    assert 0.004 * 4000 < at_1_s < 0.012 * 4000
    assert at_100_s - at_10_s == pytest.approx(at_1000_s - at_100_s, rel=0.1)


def test_a_leak_empties_the_press_with_its_time_constant():
    leaking = PressParameters(gap_cm3=0.0, breaks_per_s=0.0, creep_ratio=1e-3, leak_s=600.0)
    hand = Hand(leaking)
    before = hand.ramp_to(4000)
    assert hand.pull(0.0, 60.0) == pytest.approx(before * math.exp(-60 / 600), rel=0.02)


def test_nothing_is_felt_until_the_gap_is_closed():
    hand = Hand(PressParameters(gap_cm3=4.0, stroke_cm3=1.6, breaks_per_s=0.0))
    assert hand.pull(2.4, 8.0) == 0.0
    assert hand.pull(0.5, 2.0) > 20.0


def pumped(*travels):
    press = Press(SMOOTH, random.Random(1))
    press.step(0, LeverMove())
    for step, travel in enumerate(travels, 1):
        press.step(step * 100_000_000, LeverMove(travel=travel))
    return press.force_lbf


@given(st.floats(min_value=5e-324, max_value=1e-9))
@example(1e-321)
@example(1e-310)
@settings(deadline=None)
def test_a_pull_too_small_to_be_felt_changes_nothing_of_the_one_after_it(travel):
    assert pumped(travel, 0.5, 0.0) == pytest.approx(pumped(0.0, 0.5, 0.0), rel=1e-6)


def test_the_lever_pumps_nothing_past_the_end_of_its_stroke():
    press = Press(SMOOTH, random.Random(1))
    press.step(0, LeverMove())
    at_end = press.step(1_000_000_000, LeverMove(travel=1.0))
    assert press.step(1_100_000_000, LeverMove(travel=0.5)) < at_end
    press.step(2_100_000_000, LeverMove(travel=-1.0))
    assert press.step(2_600_000_000, LeverMove(travel=0.5)) > at_end


def test_an_open_valve_takes_the_load_off_within_two_seconds():
    hand = Hand(SMOOTH)
    hand.ramp_to(4000)
    peak = hand.press.peak_psi
    for _ in range(80):
        hand.t_ns += TICK_NS
        hand.press.step(hand.t_ns, LeverMove(valve_open=True))
    assert hand.press.stress_psi < 40
    assert hand.press.peak_psi == peak


def test_a_bed_once_loaded_is_stiffer_when_loaded_again():
    hand = Hand(SMOOTH)
    before = hand.ramp_to(3000)
    first = hand.pull(0.1, 1.0) - before
    hand.pull(0.5, 15.0)
    while hand.press.stress_psi > 3000:
        hand.t_ns += TICK_NS
        hand.press.step(hand.t_ns, LeverMove(valve_open=True))
    before = hand.press.stress_psi
    assert hand.pull(0.1, 1.0) - before > 1.1 * first


def test_the_same_seed_gives_the_same_load():
    def trace(seed):
        rng = random.Random(seed)
        press = Press(PressParameters().draw(rng), rng)
        return [
            press.step(i * 100_000_000, LeverMove(travel=0.01 if i % 200 < 100 else -0.01))
            for i in range(900)
        ]

    assert trace(5) == trace(5)
    assert trace(5) != trace(6)


def test_presses_are_drawn_around_the_nominal_one_with_the_spread_stated():
    rng = random.Random(2)
    logs = [math.log(PressParameters().draw(rng).modulus_mpa / 350.0) for _ in range(2000)]
    assert statistics.mean(logs) == pytest.approx(0.0, abs=0.02)
    assert statistics.stdev(logs) == pytest.approx(0.2, rel=0.05)


@given(st.lists(st.tuples(st.integers(0, 3_000_000_000), st.floats(-1.0, 1.0)), max_size=20))
def test_no_way_of_pulling_gives_a_load_that_is_no_number_or_below_zero(moves):
    press = Press(PressParameters(gap_cm3=0.5), random.Random(3))
    t_ns = 0
    for span_ns, travel in moves:
        t_ns += span_ns
        force = press.step(t_ns, LeverMove(travel=travel))
        assert math.isfinite(force)
        assert force >= 0.0


def test_a_sensor_spikes_as_often_and_as_long_as_it_should():
    sensor = Sensor(random.Random(4), SensorParameters(spike_share=0.01, repeat_share=0.5))
    off = [abs(sensor.read(10_000.0, pumping=False) - 10_000.0) > 50 for _ in range(100_000)]
    assert sum(off) / len(off) == pytest.approx(0.015, rel=0.1)


def test_a_hand_on_the_lever_shakes_the_reading():
    sensor = Sensor(random.Random(4), SensorParameters(spike_share=0.0))
    still = statistics.stdev(sensor.read(9000.0, pumping=False) for _ in range(2000))
    shaken = statistics.stdev(sensor.read(9000.0, pumping=True) for _ in range(2000))
    assert still == pytest.approx(0.25, rel=0.1)
    assert shaken == pytest.approx(1.6 * math.pi, rel=0.1)


def test_the_sand_leaves_a_tenth_in_the_pan_at_its_named_stress():
    assert Sand(ten_pct_psi=6000.0).fines_pct(6000.0) == pytest.approx(10.0)


@given(st.floats(0, 20_000), st.floats(0, 20_000))
def test_more_stress_never_leaves_less_in_the_pan(a_psi, b_psi):
    sand = Sand()
    low, high = sorted((a_psi, b_psi))
    assert 0.0 <= sand.fines_pct(low) <= sand.fines_pct(high) <= sand.most_pct


def test_specimens_of_one_sand_scatter_around_its_fines():
    rng = random.Random(7)
    pans = [Sand().pan_g(40.0, 6000.0, rng) for _ in range(2000)]
    assert statistics.median(pans) == pytest.approx(4.0, rel=0.02)
    assert statistics.stdev(pans) == pytest.approx(0.2, rel=0.1)
