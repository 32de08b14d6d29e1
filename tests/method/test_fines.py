import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method import fines

PERCENTAGES = st.lists(st.floats(min_value=0, max_value=100), min_size=2, max_size=9)


def test_fines_are_the_pan_as_a_share_of_the_charge():
    assert fines.fines_pct(3.952, 39.52) == pytest.approx(10.0)


def test_an_empty_pan_makes_no_fines():
    assert fines.fines_pct(0.0, 39.52) == 0.0


@pytest.mark.parametrize("charge_g", [0.0, -39.52, math.nan, math.inf])
def test_a_charge_that_is_no_mass_above_zero_is_refused(charge_g):
    with pytest.raises(InputError, match="expected a mass above zero"):
        fines.fines_pct(1.0, charge_g)


@pytest.mark.parametrize("pan_g", [-0.001, 39.521, math.nan, math.inf])
def test_a_pan_that_holds_less_than_nothing_or_more_than_the_charge_is_refused(pan_g):
    with pytest.raises(InputError, match=r"expected 0 g to the charge, 39\.52 g"):
        fines.fines_pct(pan_g, 39.52)


@given(PERCENTAGES)
def test_mean_and_deviation_are_as_numpy_has_them(values):
    found = fines.summarise(values)

    assert found.n == len(values)
    assert found.mean_pct == pytest.approx(np.mean(values), rel=1e-9, abs=1e-9)
    assert found.sd_pct == pytest.approx(np.std(values, ddof=1), rel=1e-9, abs=1e-6)


def test_the_deviation_divides_by_one_less_than_the_specimens():
    assert fines.summarise([9.0, 10.0, 11.0]).sd_pct == 1.0


def test_the_deviation_is_right_where_the_values_hardly_differ():
    # the GUM's twenty temperatures, 90 taken off; from memory: JCGM 100:2008 4.4.3, Table 1:
    # mean 100.145, s 1.489; recomputed: 1.48884
    values = [
        *(6.90, 8.18, 8.25, 8.61, 9.03, 9.49, 9.56, 9.74, 9.89, 10.07),
        *(10.33, 10.42, 10.68, 10.95, 11.11, 11.20, 11.57, 11.84, 12.36, 12.72),
    ]

    found = fines.summarise(values)

    assert found.mean_pct == pytest.approx(10.145, abs=5e-4)
    assert found.sd_pct == pytest.approx(1.48884, abs=5e-6)


def test_a_single_specimen_has_no_deviation():
    assert fines.summarise([7.7]) == fines.Replicates(n=1, mean_pct=7.7, sd_pct=None)


@pytest.mark.parametrize("values", [[], [7.7, math.nan], [math.inf], [-0.1], [100.1]])
def test_no_specimens_or_fines_that_are_no_percentage_are_refused(values):
    with pytest.raises(InputError, match="expected at least one number from 0 to 100"):
        fines.summarise(values)


def test_a_charge_that_is_all_in_the_pan_is_a_hundred_per_cent_and_no_more():
    # 100 times 0.013 over 0.013 is 100.00000000000001 in floats.
    for charge_mg in range(1, 1000):
        found = fines.fines_pct(charge_mg / 1000, charge_mg / 1000)
        assert found == pytest.approx(100)
        assert found <= 100
