"""A small run of `tests/bench/pacing.py`: loose bounds, to find a pacing that has come to harm."""

import ast
import functools
from pathlib import Path

import _hands
import _runs
import pytest

SEEDS = range(3)
SECOND = _hands.SETS["second"]
#: Case, and the greatest rms in % of target over the seeds that a sound pacing keeps to.
CASES = {
    "4000 psi": 0.8,
    "2000 psi": 1.3,
    "4000, pump x 2": 1.1,
    "4000, slow eyes": 1.0,
    "4000, eager top-ups": 0.8,
    "4000, strokes": 1.2,
}


@functools.cache
def outcomes(case):
    return [_runs.run("paced", _hands.CASES[case], seed, SECOND) for seed in SEEDS]


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_ramp_keeps_to_its_line(case):
    squares = [one.rms_pct**2 for one in outcomes(case)]
    assert (sum(squares) / len(squares)) ** 0.5 < CASES[case]


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_hold_is_neither_overshot_nor_left(case):
    some = outcomes(case)
    assert max(one.peak_pct for one in some) < 2.5
    assert sum(one.in_1 for one in some) / len(some) > 0.93
    assert max(abs(one.hold_error_s) for one in some) < 3


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_runs_pass_and_few_of_them_warn(case):
    some = outcomes(case)
    assert all(one.passed for one in some)
    assert sum(one.latched + one.near_ceiling for one in some) <= 4


@pytest.mark.slow
def test_pairs_of_false_readings_neither_fail_a_run_nor_warn():
    for one in outcomes("4000, false pairs"):
        assert one.failed == ()
        assert one.no_answer == 0
        assert one.near_ceiling <= 1


@pytest.mark.slow
def test_top_ups_end_at_the_target_and_not_over_it():
    topped = [one.topped_pct for case in CASES for one in outcomes(case) if "2000" not in case]
    assert sum(topped) / len(topped) < 0.8


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_pace_asked_for_is_never_under_half_nor_over_one_and_a_half_of_an_even_pull(case):
    for one in outcomes(case):
        least, most = one.paces
        assert least >= 0.5
        assert most <= 1.5


class StuckAt:
    """A sensor that shows one load for ever."""

    def __init__(self, force_lbf):
        self.force_lbf = force_lbf

    def read(self, _, **__):
        return self.force_lbf


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
@pytest.mark.parametrize("case", ["4000 psi", "4000, pump x 2", "4000, strokes"])
def test_people_without_a_gauge_pump_up_six_percent_at_most_in_two_minutes_of_a_stuck_reading(
    case, share
):
    for seed in SEEDS:
        bench = _runs.Bench("paced", _hands.CASES[case], seed, SECOND)
        bench.has_gauge = False
        while bench.press.stress_psi < share * 4000.0:
            bench.step()
        stuck_psi = bench.press.stress_psi
        bench.sensor = StuckAt(bench.press.force_lbf)
        until_ns = bench.t_ns + 120_000_000_000
        while bench.t_ns < until_ns:
            bench.step()
        assert bench.press.peak_psi - stuck_psi < 0.06 * 4000.0


@pytest.mark.slow
def test_an_instrument_of_five_readings_a_second_is_followed_to_the_end():
    for one in outcomes("4000, 5 readings/s"):
        assert one.passed
        assert one.hold_error_s < 3


@pytest.mark.parametrize("module", ["_hands", "_people", "_plant"])
def test_neither_press_nor_people_of_the_benchmark_know_what_the_run_knows(module):
    tree = ast.parse((Path(_runs.__file__).parent / f"{module}.py").read_text())
    imported = {
        name
        for node in ast.walk(tree)
        for name in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    assert not [name for name in imported if name.startswith(("ramphold.core", "ramphold.wire"))]
