"""Which runs of the control sand are of one working day, and what a control sample comes to."""

import pytest

from ramphold.sample import ControlDay, ControlPoint, control_days
from ramphold.sample._control_sand import _days

HOUR_NS = 3600 * 10**9


@pytest.mark.parametrize(
    ("pause_h", "days"), [(0.5, [0, 0, 0]), (6.0, [0, 0, 0]), (6.001, [0, 1, 2])]
)
def test_a_pause_of_over_six_hours_ends_a_day(pause_h, days):
    points = [
        ControlPoint(
            sample=number, specimen=1, material="sand", utc_ns=round(number * pause_h * HOUR_NS),
            press="p1", cell="A", operator="KL", stress_psi=4000.0, fines_pct=5.0,
        )
        for number in range(3)
    ]  # fmt: skip
    assert list(_days(points).values()) == days


def point(sample, specimen, utc_ns, fines_pct, answer=""):
    return ControlPoint(
        sample=sample, specimen=specimen, material="sand", utc_ns=utc_ns, press="p1", cell="A",
        operator="KL", stress_psi=4000.0, fines_pct=fines_pct, answer=answer,
    )  # fmt: skip


def test_the_specimens_of_a_control_sample_are_one_mean_from_the_start_of_the_first():
    days = control_days([
        point(7, 1, 100, 5.0, "KL: sieve cleaned"),
        point(8, 3, 150, 6.5),
        point(7, 2, 200, 5.5, "KL: sieve cleaned"),
    ])  # fmt: skip
    assert days == (
        ControlDay(sample=7, utc_ns=100, n=2, mean_pct=5.25, answer="KL: sieve cleaned"),
        ControlDay(sample=8, utc_ns=150, n=1, mean_pct=6.5, answer=""),
    )
