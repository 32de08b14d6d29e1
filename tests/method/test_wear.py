import math

import pytest

from ramphold.errors import InputError
from ramphold.method import cell
from ramphold.method.wear import CellLimits, SieveLimits, cell_wear, sieve_wear


def test_a_new_cell_is_not_due():
    found = cell_wear(2.0, 2.0, 0)

    assert (found.used_pct, found.due) == (0.0, ())


def test_a_wider_bore_is_due_by_what_it_does_to_the_stress():
    found = cell_wear(2.006, 2.0, 100, CellLimits(stress_pct=0.5))

    off_pct = 100 * (1 - cell.stress_psi(12_566, 2.006) / cell.stress_psi(12_566, 2.0))
    assert found.due == (f"the bore puts the stress {off_pct:.2f} % off: expected 0.5 or less",)
    assert found.used_pct == pytest.approx(off_pct / 0.5 * 100)


def test_a_cell_is_due_after_so_many_crushes():
    limits = CellLimits(crushes=1000)

    assert cell_wear(2.0, 2.0, 1000, limits).due == ()
    assert cell_wear(2.0, 2.0, 1001, limits).due == ("1001 crushes: expected 1000 or less",)


def test_what_is_used_up_is_that_of_the_nearest_limit():
    assert sieve_wear(150, 18, SieveLimits(sievings=200, days=180)).used_pct == 75
    assert sieve_wear(20, 90, SieveLimits(sievings=200, days=180)).used_pct == 50


def test_a_sieve_is_due_by_its_sievings_and_by_its_days():
    assert sieve_wear(201, 181, SieveLimits(sievings=200, days=180)).due == (
        "201 sievings since the last check: expected 200 or less",
        "181 days since the last check: expected 180 or less",
    )


@pytest.mark.parametrize("bores", [(0.0, 2.0), (2.0, -1.0), (math.nan, 2.0), (2.0, math.inf)])
def test_a_bore_that_is_none_is_refused(bores):
    with pytest.raises(InputError, match="expected both above zero"):
        cell_wear(*bores, 0)


def test_a_count_below_zero_is_refused():
    with pytest.raises(InputError, match="-1 crushes: expected 0 or more"):
        cell_wear(2.0, 2.0, -1)
    with pytest.raises(InputError, match="-1 days: expected 0 or more"):
        sieve_wear(0, -1)
