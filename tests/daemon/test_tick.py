"""When the daemon looks at the time again: when a reading is missed, and seldom otherwise."""

import pytest

from ramphold.daemon.main import pause_s

MS = 1_000_000


@pytest.mark.parametrize(
    ("due_ms", "pause"),
    [(None, 0.1), (500, 0.1), (100, 0.1), (60, 0.06), (6, 0.006)],
)
def test_the_time_is_looked_at_when_a_reading_is_missed_and_ten_times_a_second(due_ms, pause):
    due_ns = None if due_ms is None else (1_000 + due_ms) * MS
    assert pause_s(1_000 * MS, due_ns, simulated=False) == pytest.approx(pause)


@pytest.mark.parametrize("due_ms", [4, 0, -1, -10_000])
def test_a_moment_that_is_here_or_past_makes_no_busy_loop(due_ms):
    assert pause_s(20_000 * MS, (20_000 + due_ms) * MS, simulated=False) == 0.005


@pytest.mark.parametrize("due_ns", [None, 10**12])
def test_simulated_time_is_looked_at_often_since_it_may_run_faster(due_ns):
    assert pause_s(0, due_ns, simulated=True) == 0.05
