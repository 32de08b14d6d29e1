"""Readings that no press can make are marked, and those that came to stay are not."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.core._filters import JumpGate
from ramphold.core.doubted import doubted

STEP_NS = 12_500_000  # 80 readings/s


def marked(values, step_ns=STEP_NS):
    times = np.arange(len(values), dtype=np.int64) * step_ns
    return np.flatnonzero(doubted(times, np.array(values, dtype=float))).tolist()


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([1000.0] * 9, []),
        ([1000, 1000, 9000, 1000, 1000], [2]),
        ([1000, 1000, 9000, 9000, 1000, 1000], [2, 3]),
        ([1000, 9000, 1000, 1000, -500, 1000], [1, 4]),
        # Three that agree are the load: a valve thrown open, a load put on.
        ([1000, 1000, 9000, 9000, 9000, 9000], []),
        ([9000, 9000, 0, 0, 0], []),
        # A spike on the way to a new level is still one.
        ([9000, 9000, 20000, 0, 0, 0], [2]),
        ([1000, math.nan, 9000, math.nan, 1000], [2]),
        ([1000, 1000, 9000], [2]),
        ([], []),
        ([math.nan, math.nan], []),
        # 4000 psi/s is 50 psi from one to the next, and 20 psi of noise.
        ([1000, 1069, 1138, 1207], []),
        ([1000, 1071, 1000], [1]),
    ],
)
def test_a_spike_is_doubted_and_a_level_that_stays_is_not(values, expected):
    assert marked(values) == expected


@pytest.mark.parametrize(("psi", "doubts"), [(1419, []), (1421, [1])])
def test_in_a_tenth_of_a_second_a_press_moves_the_load_by_420_psi_at_most(psi, doubts):
    # 4000 psi/s, and 20 psi of noise.
    assert marked([1000, psi, 1000], step_ns=100_000_000) == doubts


@pytest.mark.parametrize("per_s", [10, 80, 160, 320])
@pytest.mark.parametrize("uptime_ns", [0, 10**15])
def test_a_spike_is_doubted_at_any_rate_and_at_any_time(uptime_ns, per_s):
    times = uptime_ns + np.arange(60, dtype=np.int64) * (10**9 // per_s)
    values = np.full(60, 1000.0)
    values[[30, 31]] = 3500.0
    assert np.flatnonzero(doubted(times, values)).tolist() == [30, 31]


@pytest.mark.parametrize("per_s", [80, 160, 320])
def test_of_readings_that_a_busy_computer_kept_waiting_none_is_doubted(per_s):
    read = np.arange(3 * per_s, dtype=np.int64) * (10**9 // per_s)
    # Half a second of them come 0.02 ms apart; the load rises by 4000 psi/s, as fast as it can.
    kept = 3 * 10**9 // 2 + (np.arange(3 * per_s) - per_s) * 20_000
    came = np.where(read < 10**9, read, np.maximum(read, kept))
    values = 1000.0 + 4e-6 * np.clip(read - 10**9, 0, 4 * 10**8)
    assert not doubted(came, values).any()


@settings(deadline=None)
@given(st.lists(st.sampled_from([1000.0, 1005.0, 1100.0, 5000.0, 5005.0, math.nan]), max_size=40))
def test_what_is_marked_is_what_the_gate_of_the_judged_load_held_back(values):
    gate, held = JumpGate(), []
    for index, psi in enumerate(values):
        if not math.isnan(psi) and not gate.feed(index * STEP_NS, psi):
            held.append(index)
    assert set(marked(values)) <= set(held)
