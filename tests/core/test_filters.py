import math
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from ramphold.core._filters import JumpGate, Slope, SlowGate, SteadyLoad

MS = 1_000_000
#: What the clock may show at the first reading, in ns: it counts from the start of the computer.
UPTIMES = [0, 10**15]


def steadied(points):
    load = SteadyLoad()
    return [load.feed(t_ms * MS, psi) for t_ms, psi in points]


def test_the_steadied_load_of_a_ramp_is_the_ramp_itself_at_the_time_it_belongs_to():
    at_10_per_s = [(100 * i, 100.0 + 3.0 * i) for i in range(6)]
    assert steadied(at_10_per_s)[2:] == [(100 * i * MS, 100.0 + 3.0 * i) for i in range(1, 5)]


def test_at_eighty_readings_a_second_it_is_a_median_of_five_two_readings_late():
    ramp = [(12.5 * i, 100.0 + 0.5 * i) for i in range(9)]
    *_, last = steadied(ramp)
    assert last == (75 * MS, 103.0)


def test_a_single_spike_is_never_seen():
    points = [(0, 500.0), (100, 501.0), (200, 510.0), (300, 503.0), (400, 504.0), (500, 505.0)]
    assert max(psi for _, psi in filter(None, steadied(points))) < 506


def test_a_spike_of_two_readings_is_never_seen_either():
    points = [(0, 500.0), (100, 501.0), (200, 9000.0), (300, 9001.0), (400, 504.0), (500, 505.0)]
    assert steadied(points)[2:4] == [None, None]
    assert max(psi for _, psi in filter(None, steadied(points))) < 506


def test_a_spike_that_comes_first_is_found_out_after_three_good_readings():
    points = [(0, 9000.0), (100, 500.0), (200, 501.0), (300, 502.0), (400, 503.0), (500, 504.0)]
    assert steadied(points)[-1] == (400 * MS, 503.0)


def test_a_step_that_stays_is_believed_at_its_third_reading():
    gate = JumpGate()
    steps = [(0, 500.0), (100, 500.0), (200, 3000.0), (300, 3010.0), (400, 3020.0), (500, 3030.0)]
    assert [gate.feed(t * MS, psi) for t, psi in steps] == [True, True, False, False, True, True]


def test_the_fastest_full_stroke_passes_the_gate():
    gate = JumpGate()
    assert all(gate.feed(100 * i * MS, 190.0 * i) for i in range(10))


def test_after_a_gap_nothing_from_before_it_counts():
    load = SteadyLoad()
    for i in range(5):
        load.feed(100 * i * MS, 1000.0)
    assert load.feed(5_000 * MS, 1200.0) is None
    assert load.feed(5_100 * MS, 1201.0) is None
    assert load.feed(5_200 * MS, 1202.0) == (5_100 * MS, 1201.0)


@given(st.lists(st.tuples(st.integers(0, 500), st.floats(-1e6, 1e6)), max_size=60))
def test_the_steadied_load_is_always_one_of_the_readings(steps):
    t_ms, given_psi, load = 0, set(), SteadyLoad()
    for step_ms, psi in steps:
        t_ms += step_ms
        given_psi.add((t_ms * MS, psi))
        seen = load.feed(t_ms * MS, psi)
        if seen is not None:
            assert seen[1] in {value for _, value in given_psi}
            assert seen[0] in {at for at, _ in given_psi}


def test_the_slope_is_that_of_least_squares():
    rng, slope = random.Random(1), Slope(10.0)
    points = [(0.1 * i, 40.0 * 0.1 * i + rng.gauss(0, 5)) for i in range(3000)]
    for t_s, psi in points:
        got = slope.feed(round(t_s * 1e9), psi)
    window = [(t, psi) for t, psi in points if t >= points[-1][0] - 10.0 - 1e-9]
    # scipy is the independent reference.
    assert got == pytest.approx(linregress(*np.array(window).T).slope, rel=1e-9)


def test_the_slope_says_nothing_before_its_window_is_half_full():
    slope = Slope(10.0)
    got = [slope.feed(500 * i * MS, 16.0 * i) for i in range(12)]
    assert got[:10] == [None] * 10
    assert got[10] == pytest.approx(32.0)


def test_the_slope_of_strokes_is_the_slope_of_the_line_they_follow():
    slope = Slope(10.0)
    # A step of 100 psi every 3 s is 2000 psi/min.
    rates = [slope.feed(100 * i * MS, 100.0 * math.floor(i / 30)) for i in range(900)]
    settled = [rate * 60 for rate in rates[120:]]
    assert sum(settled) / len(settled) == pytest.approx(2000, rel=0.02)


def test_after_a_change_of_rate_the_slope_is_half_way_after_five_seconds():
    slope = Slope(10.0)
    points = [(0.1 * i, 0.0 if i < 300 else 33.0 * (0.1 * i - 30)) for i in range(500)]
    rates = {round(t, 1): slope.feed(round(t * 1e9), psi) for t, psi in points}
    assert rates[35.0] == pytest.approx(33.0 / 2, rel=0.05)
    assert rates[40.2] == pytest.approx(33.0, rel=0.01)


@pytest.mark.parametrize("psi_s", [100.0, 300.0, 800.0, 2000.0])
@pytest.mark.parametrize("stalled_ms", [200, 300, 500, 1000])
@pytest.mark.parametrize("per_s", [10, 80, 160, 320])
@pytest.mark.parametrize("uptime_ns", UPTIMES)
def test_readings_that_a_busy_computer_kept_waiting_are_no_jump_of_the_load(
    uptime_ns, per_s, stalled_ms, psi_s
):
    gate = JumpGate()
    for i in range(3 * per_s):
        came_ms = read_ms = 1000 * i / per_s
        if i >= per_s:
            # All that were read while the computer was busy come 0.02 ms apart.
            came_ms = max(read_ms, 1000 + stalled_ms + 0.02 * (i - per_s))
        stroked_psi = psi_s * min(max(read_ms - 1000, 0.0), 400.0) / 1000
        assert gate.feed(uptime_ns + round(came_ms * MS), 1000.0 + stroked_psi)
        assert not gate.jumped


@pytest.mark.parametrize("per_s", [5, 10, 80, 160, 320])
@pytest.mark.parametrize("uptime_ns", UPTIMES)
def test_a_spike_is_held_back_at_any_rate_and_two_in_readings_kept_waiting_too(uptime_ns, per_s):
    gate, period_ns = JumpGate(), 1_000 * MS // per_s
    for i in range(20):
        spike = i in (9, 10)
        assert gate.feed(uptime_ns + i * period_ns, 1000.0 + 3000.0 * spike) is not spike
    kept_ns = uptime_ns + 20 * period_ns + 300 * MS
    at_once = [gate.feed(kept_ns + i, 6000.0 * (i in (2, 3))) for i in range(8)]
    assert at_once[2:4] == [False, False]


@pytest.mark.parametrize("per_s", [10, 80, 160, 320])
def test_a_spike_is_held_back_again_once_the_readings_that_were_kept_waiting_have_come(per_s):
    gate, period_ns = JumpGate(), 1_000 * MS // per_s
    for i in range(60):
        gap_ns, spike = 1_000 * MS * (i >= 20), i in (40, 41)
        assert gate.feed(i * period_ns + gap_ns, 1000.0 + 3000.0 * spike) is not spike


@pytest.mark.parametrize(
    ("jumps_psi", "believed"),
    [
        ([500, 500, 0], [False, False, True]),
        ([500, 520, 510], [False, False, True]),
        ([500, -500, 500, -500], [False] * 4),
        ([40, 40, 40], [True] * 3),
    ],
    ids=["a pair", "a stroke", "to both sides", "a squeeze"],
)
def test_where_nobody_strokes_a_jump_is_believed_once_three_readings_lie_to_its_side(
    jumps_psi, believed
):
    gate = SlowGate(4000.0)
    assert gate.feed(0, 1000.0)
    found = [gate.feed(n * 10**8, 1000.0 + by) for n, by in enumerate(jumps_psi, 1)]
    assert found == believed


def test_the_noise_of_a_slope_is_that_of_least_squares():
    slope = Slope(10.0)
    assert slope.noise_factor == 0.0
    times_s = (0.0, 0.5, 2.0, 2.5, 7.0)
    for t_s in times_s:
        slope.feed(round(t_s * 1e9), 100.0)
    # By numpy: each value's weight in the slope, of values that scatter alike.
    weights = np.linalg.pinv(np.vander(np.array(times_s), 2))[0]
    assert slope.noise_factor == pytest.approx(np.linalg.norm(weights))
