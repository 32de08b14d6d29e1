"""The mean of several determinations, and its U by their scatter."""

import math

import pytest
from scipy import stats

from ramphold.method.determinations import last_digit, scatter_budget

# JCGM 100:2008 4.4.3, Table 1, twenty temperatures: mean 100.145, s 1.489, u 0.333, from memory.
TEMPERATURES = [
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
]  # fmt: skip


def test_the_twenty_temperatures_of_the_gum_give_its_mean_and_uncertainty():
    found = scatter_budget(TEMPERATURES, "C")
    assert round(found.value, 2) == pytest.approx(100.14, abs=0.011)
    assert round(found.u, 3) == 0.333
    scatter = found.components[0]
    assert (scatter.dof, scatter.kind) == (19, "A")


@pytest.mark.parametrize("values", [[1.601, 1.598, 1.604], [60.0, 64.0], [2.65, 2.64, 2.66, 2.63]])
def test_u_is_half_the_interval_of_student_for_the_mean_or_as_much_more_as_the_last_digit(values):
    found = scatter_budget(values, "")
    t, sem = stats.t.ppf(0.975, len(values) - 1), stats.sem(values)
    most = t * math.hypot(sem, last_digit(values) / math.sqrt(12))
    assert t * sem * (1 - 1e-4) <= found.expanded <= most * (1 + 1e-4)


def test_one_determination_shows_no_scatter():
    assert scatter_budget([1.6], "g/cm3") is None
    assert scatter_budget([], "g/cm3") is None


def test_equal_determinations_are_known_to_their_last_digit_and_no_better():
    found = scatter_budget([2.65, 2.65, 2.65], "g/cm3")
    # A step of 0.01, rectangular: GUM F.2.2.1; 1.96 times its standard uncertainty.
    assert found.expanded == pytest.approx(1.96 * 0.01 / math.sqrt(12), rel=1e-3)


@pytest.mark.parametrize(
    ("values", "digit"), [([2.65, 2.6], 0.01), ([60.0], 1.0), ([0.1 + 0.2], 0.1), ([1e-3], 0.001)]
)
def test_the_last_digit_is_that_of_the_value_with_most_decimals(values, digit):
    assert last_digit(values) == pytest.approx(digit)
