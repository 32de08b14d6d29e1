import math
from dataclasses import replace

import pytest

from ramphold.errors import InputError
from ramphold.method import cell
from ramphold.method.wear import EQUIPMENT, Equipment

CELL, SIEVE = EQUIPMENT[Equipment.CELL], EQUIPMENT[Equipment.SIEVE]


def test_a_new_cell_is_not_due():
    found = CELL.wear(0, measured=2.0, nominal=2.0)

    assert (found.used_pct, found.due) == (0.0, ())


def test_a_wider_bore_is_due_by_what_it_does_to_the_stress():
    found = replace(CELL, most_stress_pct=0.5).wear(100, measured=2.006, nominal=2.0)

    off_pct = 100 * (1 - cell.stress_psi(12_566, 2.006) / cell.stress_psi(12_566, 2.0))
    assert found.due == (f"the bore puts the stress {off_pct:.2f} % off: expected 0.5 or less",)
    assert found.used_pct == pytest.approx(off_pct / 0.5 * 100)


def test_a_cell_is_due_after_so_many_crushes():
    cell_kind = replace(CELL, most_uses=1000)

    assert cell_kind.wear(1000, measured=2.0, nominal=2.0).due == ()
    due = ("1001 crushes: expected 1000 or less",)
    assert cell_kind.wear(1001, measured=2.0, nominal=2.0).due == due


def test_what_is_used_up_is_that_of_the_nearest_limit():
    kind = replace(SIEVE, most_uses=200, most_days=180)
    assert kind.wear(150, 18).used_pct == 75
    assert kind.wear(20, 90).used_pct == 50


def test_a_sieve_is_due_by_its_sievings_and_by_its_days():
    assert replace(SIEVE, most_uses=200, most_days=180).wear(201, 181).due == (
        "201 sievings since the last check: expected 200 or less",
        "181 days since the last check: expected 180 or less",
    )


@pytest.mark.parametrize("bores", [(0.0, 2.0), (2.0, -1.0), (math.nan, 2.0), (2.0, math.inf)])
def test_a_bore_that_is_none_is_refused(bores):
    with pytest.raises(InputError, match="expected both above zero"):
        CELL.wear(0, measured=bores[0], nominal=bores[1])


def test_a_count_below_zero_is_refused():
    with pytest.raises(InputError, match="-1 crushes: expected 0 or more"):
        CELL.wear(-1, measured=2.0, nominal=2.0)
    with pytest.raises(InputError, match="-1 days: expected 0 or more"):
        SIEVE.wear(0, -1)


def test_a_cell_lasts_a_thousand_crushes_and_a_sieve_three_hundred_sievings_or_half_a_year():
    # Limits of ours.
    assert CELL.wear(1000, measured=2.0, nominal=2.0).due == ()
    assert CELL.wear(1001, measured=2.0, nominal=2.0).due != ()
    assert CELL.wear(0, measured=2.0049, nominal=2.0).due == ()
    assert CELL.wear(0, measured=2.0051, nominal=2.0).due != ()
    assert SIEVE.wear(300, 180).due == ()
    assert SIEVE.wear(301, 180).due != ()
    assert SIEVE.wear(300, 181).due != ()


def test_a_length_in_inches_is_recorded_in_the_unit_of_its_kind():
    assert CELL.in_unit(2.0) == 2.0
    assert SIEVE.in_unit(1.0) == pytest.approx(25.4)  # an inch is 25.4 mm by definition
    assert (CELL.in_unit(None), SIEVE.in_unit(None)) == (None, None)


@pytest.mark.parametrize(("measured", "nominal"), [(None, 2.0), (2.0, None), (None, None)])
def test_a_cell_that_was_never_measured_has_no_wear_and_a_sieve_has(measured, nominal):
    assert CELL.wear(5, measured=measured, nominal=nominal) is None
    assert SIEVE.wear(5, measured=measured, nominal=nominal) is not None
