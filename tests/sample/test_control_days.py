"""Which runs of the control sand are of one working day."""

import pytest

from ramphold.sample import ControlPoint
from ramphold.sample._control_sand import _days

HOUR_NS = 3600 * 10**9


@pytest.mark.parametrize(
    ("pause_h", "days"), [(0.5, [0, 0, 0]), (6.0, [0, 0, 0]), (6.1, [0, 1, 2])]
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
