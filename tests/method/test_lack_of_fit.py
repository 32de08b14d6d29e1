import pytest
import scipy.stats

from ramphold.method.lack_of_fit import lack_of_fit
from ramphold.method.regression import fit


def test_a_straight_line_through_the_load_cell_case_is_rejected(pontius):
    # from memory: NIST/SEMATECH e-Handbook 4.6.1.4; recomputed
    found = lack_of_fit(fit(*pontius, degree=1), *pontius)

    assert found.f_ratio == pytest.approx(214.747, abs=5e-4)
    assert (found.lack_dof, found.pure_dof) == (18, 20)
    assert found.replicate_sd == pytest.approx(0.214727e-3, rel=1e-5)
    assert found.p_value == pytest.approx(scipy.stats.f.sf(214.746924, 18, 20), rel=1e-6)


def test_a_quadratic_through_the_load_cell_case_is_accepted(pontius):
    # from memory: NIST/SEMATECH e-Handbook 4.6.1.6; recomputed
    found = lack_of_fit(fit(*pontius, degree=2), *pontius)

    assert found.f_ratio == pytest.approx(0.8107, abs=5e-5)
    assert (found.lack_dof, found.pure_dof) == (17, 20)
    assert 1 - found.p_value == pytest.approx(0.3338, abs=5e-5)


def test_replicates_near_each_other_count_as_replicates_where_they_are_labelled(pontius):
    x, y = pontius
    quadratic = fit(x, y, degree=2)
    steps = list(range(20)) * 2
    # The second run lies up to 300 lb beside the first, each point moved along the curve.
    beside = [
        load + (load / 1e4 if run else 0.0)
        for load, run in zip(x, [0] * 20 + [1] * 20, strict=True)
    ]
    moved = [v + quadratic.at(b) - quadratic.at(u) for u, b, v in zip(x, beside, y, strict=True)]

    found = lack_of_fit(fit(beside, moved, degree=2), beside, moved, steps)

    assert found.f_ratio == pytest.approx(0.8107, abs=5e-3)
    assert (found.lack_dof, found.pure_dof) == (17, 20)


def test_without_replicates_nothing_can_be_said():
    x, y = [1.0, 2.0, 3.0, 4.0], [1.0, 2.1, 2.9, 4.0]

    assert lack_of_fit(fit(x, y, degree=1), x, y) is None


def test_with_no_more_groups_than_coefficients_nothing_can_be_said():
    x, y = [1.0, 1.0, 2.0, 2.0], [1.0, 1.1, 2.0, 2.1]

    assert lack_of_fit(fit(x, y, degree=1), x, y) is None


def test_replicates_that_agree_to_the_last_digit_reject_any_misfit():
    x, y = [1.0, 1.0, 2.0, 2.0, 3.0, 3.0], [1.0, 1.0, 2.0, 2.0, 4.0, 4.0]

    found = lack_of_fit(fit(x, y, degree=1), x, y)

    assert found.p_value < 1e-9
