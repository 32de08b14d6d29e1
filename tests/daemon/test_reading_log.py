"""The newest readings, and the figures they give."""

import math

import pytest

from ramphold.core import MassReading, MassState, Quality, Reading
from ramphold.daemon._reading_log import ReadingLog

S = 10**9


def load(t_s, force_lbf, **changed):
    raw = 0 if math.isnan(force_lbf) else round(force_lbf * 10)
    held = {"raw": raw, "exponent": -1, "unit": "lbf"} | changed
    return Reading(t_ns=round(t_s * S), force_lbf=force_lbf, **held)


def filled(unit="lbf", readings=()):
    log = ReadingLog(unit)
    for one in readings:
        log.take(one, one)
    return log


def test_nothing_is_said_before_the_first_reading():
    log = filled()
    assert (log.row, log.text, log.step) == (None, "", None)
    figures = log.figures(S)
    assert (figures.rate_per_s, figures.noise, figures.steady_pct) == (None, None, None)


def test_rate_noise_and_rest_are_those_of_the_last_five_seconds():
    fast = [load(t / 10, 100.0, quality=Quality.UNSTEADY) for t in range(100)]
    slow = [load(10 + t / 4, 200.0 + (t % 2)) for t in range(21)]
    figures = filled(readings=fast + slow).figures(15 * S)
    assert figures.rate_per_s == 4.0
    assert figures.steady_pct == 100.0
    # One step up and one down in turn: every second difference is 2, times 1.4826 / sqrt 6.
    assert figures.noise == pytest.approx(2 * 1.4826 / math.sqrt(6))


def test_a_reading_is_given_as_it_was_read_and_as_it_was_corrected():
    log = ReadingLog("lbf")
    log.take(load(1, 1234.5), load(1, 1025.0, raw=12345))
    assert (log.row.reading, log.row.value, log.row.quality) == (1234.5, 1025.0, "good")
    assert (log.text, log.step) == ("1234.5 lbf", 0.1)


def test_the_step_of_a_print_in_kilonewton_is_given_in_pounds_force():
    log = filled(readings=[load(1, 12566.4, raw=55898, exponent=-3, unit="kN")])
    # 1 N = 0.224809 lbf: recomputed from the exact pound and standard gravity.
    assert log.step == pytest.approx(0.224809, abs=1e-6)


def test_a_count_is_given_whether_or_not_a_certificate_makes_a_force_of_it():
    bare = load(1, math.nan, raw=4711, exponent=0, unit="count", quality=Quality.UNCALIBRATED)
    end = load(2, math.nan, raw=8388607, exponent=0, unit="count", quality=Quality.SATURATED)
    log = filled("count", [bare, end])
    rows = log.after(None, 10).readings
    assert [(row.reading, row.value) for row in rows] == [(4711.0, None), (None, None)]
    assert log.step == 1.0


def test_a_mass_is_shown_by_the_line_that_carried_it():
    line = MassReading(t_ns=S, mass_g=1.5, state=MassState.STABLE, line=b"S S  1.500 g")
    log = filled("g", [line])
    assert (log.text, log.row.value, log.row.quality) == ("S S  1.500 g", 1.5, "stable")


def test_readings_after_a_time_come_in_order_and_the_newest_where_no_time_is_given():
    log = filled(readings=[load(t, float(t)) for t in range(10)])
    assert [row.value for row in log.after(6 * S, 100).readings] == [7.0, 8.0, 9.0]
    assert [row.value for row in log.after(2 * S, 2).readings] == [3.0, 4.0]
    assert [row.value for row in log.after(None, 2).readings] == [8.0, 9.0]
    assert log.after(6 * S, 100).unit == "lbf"


def test_memory_is_bounded_and_what_was_lost_is_said():
    log = filled(readings=[load(t / 80, 1.0) for t in range(20_001)])
    assert log.after(0, 20_000).lost is True
    assert log.after(S, 20_000).lost is False
    assert len(log.after(0, 20_000).readings) == 20_000


def test_a_day_of_slow_readings_takes_no_more_memory_than_five_minutes_of_them():
    log = filled(readings=[load(t, 1.0) for t in range(24 * 3600)])
    kept = log.after(0, 100_000)
    assert (len(kept.readings), kept.lost) == (301, True)
    assert log.after((24 * 3600 - 10) * S, 100).lost is False
