"""Repeatability and the deviation between groups, against the example of ASTM E691."""

import math
import random

import pytest

from ramphold.method.precision import Spread, components

# Glucose in serum, eight laboratories of three results: the data set "Glucose" of the R package
# ILS, taken from ASTM E691 (published). Deviations as the standard prints them, from memory.
A = [
    [41.03, 41.45, 41.37],
    [41.17, 42.00, 41.15],
    [41.01, 40.68, 42.66],
    [39.37, 42.37, 42.63],
    [41.88, 41.19, 41.32],
    [43.28, 40.50, 42.28],
    [41.08, 41.27, 39.02],
    [43.36, 42.65, 41.72],
]
D = [
    [193.71, 193.59, 193.65],
    [190.88, 200.14, 194.30],
    [192.71, 193.28, 190.28],
    [195.85, 196.36, 199.43],
    [192.59, 191.44, 195.12],
    [195.34, 198.26, 198.13],
    [194.66, 191.99, 187.13],
    [197.56, 195.99, 200.82],
]
E = [
    [292.78, 294.09, 292.89], [292.27, 309.40, 295.08], [295.53, 290.14, 292.34],
    [295.19, 295.44, 296.83], [293.93, 292.48, 294.28], [297.74, 296.80, 290.33],
    [287.29, 293.76, 289.36], [298.46, 295.28, 296.12],
]  # fmt: skip


@pytest.mark.parametrize(
    ("groups", "repeatability", "reproducibility"),
    [(A, 1.0632, 1.0632), (D, 2.6251, 3.3657), (E, 3.9350, 4.1923)],
)
def test_the_example_of_the_standard_has_its_printed_deviations(
    groups, repeatability, reproducibility
):
    found = components([groups])
    assert found.within.sd == pytest.approx(repeatability, abs=5e-5)
    both = math.hypot(found.within.sd, found.between.sd)
    assert both == pytest.approx(reproducibility, abs=5.1e-5)
    assert found.within.dof == 16


def test_groups_that_agree_better_than_their_scatter_have_no_deviation_between_them():
    assert components([A]).between == Spread(sd=0.0, dof=7)


def test_groups_of_unequal_size_show_the_deviations_they_were_drawn_with():
    chance, found = random.Random(8), []
    for _ in range(400):
        family = []
        for size in (1, 2, 3, 3, 4, 6, 3, 2):
            centre = chance.gauss(8.0, 0.5)
            family.append([chance.gauss(centre, 0.3) for _ in range(size)])
        found.append(components([family]))
    mean = {
        part: math.fsum(getattr(one, part).sd ** 2 for one in found) / len(found)
        for part in ("within", "between")
    }
    # Cutting an estimate off at zero would raise this one; at these deviations that is rare.
    assert mean["within"] == pytest.approx(0.3**2, rel=0.05)
    assert mean["between"] == pytest.approx(0.5**2, rel=0.08)


def test_families_share_a_deviation_and_not_a_mean():
    found = components([D, [[value + 1000.0 for value in group] for group in D]])
    assert found.within.sd == pytest.approx(components([D]).within.sd)
    assert found.between.sd == pytest.approx(components([D]).between.sd)
    assert found.within.dof == 32


@pytest.mark.parametrize("families", [[], [[]], [[[1.0], [2.0]]]])
def test_without_two_results_in_a_group_nothing_is_known(families):
    assert components(families) is None


def test_one_group_tells_nothing_of_others():
    assert components([[[1.0, 2.0]]]).between is None
