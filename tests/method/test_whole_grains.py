"""What the means at several stresses say of whole grains among them, against scipy."""

import math

import numpy as np
import pytest
import scipy.stats

from ramphold.method.class_evidence import weigh_class
from ramphold.method.precision import Precision, Spread
from ramphold.method.uncertainty import one_sided
from ramphold.method.whole_grains import weigh_amounts

STRESSES = (4000.0, 5000.0, 6000.0, 7000.0, 8000.0)
SD = 0.03


def curve(whole_pct=0.0, stresses=STRESSES, slope=3.0):
    """Fines of a straight curve that reaches 10 % at 7000 psi, and whole grains beside them."""
    found = []
    for psi in stresses:
        odds = math.log(10 / 90) + slope * math.log(psi / 7000)
        found.append((psi, 100 / (1 + math.exp(-odds)) + whole_pct, 3))
    return found


def test_the_weights_are_those_of_the_joint_normal_density_of_the_curve():
    amounts, means = (0.0, 0.5, 1.0, 1.5), curve(0.7)
    x = np.log(STRESSES) - np.mean(np.log(STRESSES))
    # Independently: height, slope 3 +- 1 and bend 0 +- 0.3, and the means' own deviation.
    shape = 100.0**2 + np.outer(x, x) + 0.3**2 * np.outer(x**2, x**2)
    density = []
    for amount in amounts:
        rest = np.array([pct - amount for _, pct, _ in means])
        odds = np.log(rest / (100 - rest))
        jacobian = np.prod(100 / (rest * (100 - rest)))
        passing = 0.25 * amount * 100 / (rest * (100 - rest))
        covariance = shape + np.diag(SD**2 + passing**2) / 3
        density.append(scipy.stats.multivariate_normal(3 * x, covariance).pdf(odds) * jacobian)
    weights = weigh_amounts(amounts, [0.25] * 4, means, SD)
    assert weights == pytest.approx([one / sum(density) for one in density], rel=1e-6)


@pytest.mark.parametrize("whole_pct", [0.0, 2.0, 4.0])
def test_five_stresses_tell_much_of_what_passed_whole(whole_pct):
    amounts = tuple(step / 4 for step in range(32))
    weights = weigh_amounts(amounts, [1 / 32] * 32, curve(whole_pct), SD, 0.0)
    mean = sum(a * w for a, w in zip(amounts, weights, strict=True))
    assert mean == pytest.approx(whole_pct, abs=0.6)


def test_means_that_fit_no_curve_say_less_the_worse_they_fit():
    # A bend that no sand has: 4, 9 and 13 % at 4000, 5000 and 6000 psi.
    means = [(4000.0, 4.0, 3), (5000.0, 9.0, 3), (6000.0, 13.0, 3)]
    weights = weigh_amounts((0.0, 2.0), [0.5, 0.5], means, 0.02, 0.0)
    assert 0.001 < weights[1] < 0.5


def test_more_than_the_fines_of_any_stress_cannot_have_passed():
    weights = weigh_amounts((0.0, 1.0, 3.0), [0.2, 0.3, 0.5], [(4000.0, 2.0, 3)], SD)
    assert weights[2] == 0.0
    assert sum(weights) == pytest.approx(1.0)


def test_a_stress_without_fines_leaves_the_others_to_speak():
    without = weigh_amounts((0.0, 1.0), [0.5, 0.5], curve(0.5), SD)
    assert weigh_amounts((0.0, 1.0), [0.5, 0.5], [(1000.0, 0.0, 3), *curve(0.5)], SD) == without


def test_where_every_amount_is_too_much_nothing_is_learned():
    assert weigh_amounts((5.0, 6.0), [0.5, 0.5], [(4000.0, 2.0, 3)], SD) == (0.5, 0.5)


PRECISION = Precision(within=Spread(sd=0.3, dof=math.inf), between=Spread(sd=0.3, dof=math.inf))


def test_a_class_that_whole_grains_may_have_lowered_is_not_stated_as_sure():
    # 7.5 % at 6000 psi and 14 % at 7000, of which 5 % may be whole grains: then it is 7K.
    specimens = [(psi, pct + 4) for psi, pct, _ in curve() for _ in range(3)]
    passing = one_sided("whole grains", (0.0, 4.0))
    bare = weigh_class(specimens, laboratory=PRECISION)
    found = weigh_class(specimens, laboratory=PRECISION, sieves=[passing])
    assert (bare.found.crush_class, found.found.crush_class) == ("5K", "5K")
    assert bare.probability("5K") > 0.9
    assert found.probability("5K") < 0.05
    assert found.probability("6K") + found.probability("7K") > 0.9
    assert any("a blank tells how many do" in one for one in found.findings)
    assert any("5K has a probability of 0.0" in one and "; " in one for one in found.findings)


def test_a_blank_moves_the_probability_to_the_class_without_its_whole_grains():
    specimens = [(psi, pct + 4) for psi, pct, _ in curve(slope=3.3) for _ in range(3)]
    found = weigh_class(
        [(psi, pct - 0.8 * (psi == 7000)) for psi, pct in specimens],
        laboratory=PRECISION,
        sieves=[one_sided("whole grains, by the blank", (4.0,))],
    )
    assert found.found.crush_class == "5K"
    assert found.probability("7K") > 0.9


def test_a_repeat_on_the_same_sieves_meets_the_same_whole_grains():
    specimens = [(psi, pct + 4) for psi, pct, _ in curve() for _ in range(3)]
    with_sieves = weigh_class(
        specimens, laboratory=PRECISION, sieves=[one_sided("whole grains", (0.0, 4.0))]
    )
    bare = weigh_class(specimens, laboratory=PRECISION)
    assert [one.repeat for one in with_sieves.classes] == [one.repeat for one in bare.classes]


@pytest.mark.parametrize("sd", [0.0, 1e-12, 1e-6])
def test_specimens_that_are_all_equal_leave_weights_and_no_division_by_nothing(sd):
    means = [(1000.0 * step, 2.0 + step, 30) for step in range(1, 16)]
    weights = weigh_amounts((0.0, 0.5, 1.0), (0.4, 0.3, 0.3), means, sd, 0.0)
    assert math.fsum(weights) == pytest.approx(1.0)
    assert all(0 <= one <= 1 for one in weights)
