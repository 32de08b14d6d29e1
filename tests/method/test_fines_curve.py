import math
import random

import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.errors import InputError
from ramphold.method.fines_curve import fit_fines
from ramphold.method.log_odds import fines_pct, log_odds

# Invented: a sand that makes 10 % at 8600 psi.
LIMIT_PSI, POWER = 8600.0, 3.2


def sand(stress_psi, error=0.0):
    return fines_pct(log_odds(10.0) + POWER * math.log(stress_psi / LIMIT_PSI) + error)


def a_series(seed, *, sd=0.08, stresses_psi=(6000, 8000, 9000, 10_000), n=3):
    chance = random.Random(seed)
    return [(psi, sand(psi, chance.gauss(0, sd))) for psi in stresses_psi for _ in range(n)]


def test_the_worked_case_crosses_between_its_two_stresses():
    # common practice, no source: 9.4 % at 9000 psi and 12.5 % at 10 000 psi is 9K
    curve = fit_fines([(9000, 9.3), (9000, 9.5), (10_000, 12.4), (10_000, 12.6)])

    assert curve.fines_pct(9000) == pytest.approx(9.4, abs=0.01)
    assert 9000 < curve.crossing().stress_psi < 10_000


def test_fines_on_the_line_are_found_again_to_the_digit():
    specimens = [(psi, sand(psi)) for psi in (4000.0, 6000.0, 8000.0, 12_000.0)]

    curve = fit_fines(specimens)

    assert curve.crossing().stress_psi == pytest.approx(LIMIT_PSI, rel=1e-9)
    assert curve.crossing(14.0).stress_psi == pytest.approx(
        LIMIT_PSI * math.exp((log_odds(14.0) - log_odds(10.0)) / POWER), rel=1e-9
    )
    assert curve.fines_pct(5000) == pytest.approx(sand(5000), rel=1e-9)


def test_the_line_is_as_scipy_has_it():
    specimens = a_series(1)
    x = [math.log(stress_psi) for stress_psi, _ in specimens]
    y = [math.log(fines / (100 - fines)) for _, fines in specimens]

    curve, expected = fit_fines(specimens), scipy.stats.linregress(x, y)

    assert curve.line.coefficients[1] == pytest.approx(expected.slope)
    assert curve.line.at(0.0) == pytest.approx(expected.intercept)


def test_the_interval_ends_where_the_band_of_the_curve_meets_the_limit():
    # Fieller's theorem says as much
    curve = fit_fines(a_series(2))
    crossing = curve.crossing()

    assert curve.band_pct(crossing.low_psi)[1] == pytest.approx(10.0, rel=1e-9)
    assert curve.band_pct(crossing.high_psi)[0] == pytest.approx(10.0, rel=1e-9)
    assert crossing.low_psi < crossing.stress_psi < crossing.high_psi


@pytest.mark.slow
def test_the_interval_holds_the_true_stress_about_as_often_as_it_says():
    crossings = [fit_fines(a_series(seed)).crossing() for seed in range(400)]
    held = sum(crossing.low_psi < LIMIT_PSI < crossing.high_psi for crossing in crossings)

    assert held / len(crossings) == pytest.approx(0.95, abs=0.03)


def test_the_slope_is_that_of_the_curve():
    curve = fit_fines(a_series(3))

    by_hand = (curve.fines_pct(8010) - curve.fines_pct(7990)) / 20
    assert curve.slope_pct_psi(8000) == pytest.approx(by_hand, rel=1e-4)


def test_a_bend_far_from_the_limit_leaves_the_curve_near_it_alone():
    # Below 5000 psi this sand makes twice the fines that the rest of its curve would say.
    bent = [(psi, 2 * fines) for psi, fines in a_series(4, stresses_psi=(2000, 3000))]

    curve = fit_fines([*bent, *a_series(11)])

    assert curve.stresses_psi == (6000, 8000, 9000, 10_000)
    assert curve.findings[0].startswith("the curve is fitted over 6000 to 10000 psi: over all")
    assert curve.crossing().stress_psi == pytest.approx(LIMIT_PSI, rel=0.02)


def test_a_stress_whose_fines_are_just_the_limit_is_under_it_still():
    at_limit = [(8600, 10.0)] * 3
    bent = [(psi, 3 * fines) for psi, fines in a_series(4, stresses_psi=(3000,))]

    curve = fit_fines([*bent, *at_limit, *a_series(11, stresses_psi=(9500, 12_000))])

    # The two that enclose it are 8600 and 9500 psi, so that 3000 psi is the farthest.
    assert curve.stresses_psi == (8600, 9500, 12_000)


@pytest.mark.parametrize(
    "stresses_psi", [(2000, 3000, 4000, 5000), (12_000, 13_000, 14_000, 15_000)]
)
def test_where_all_stresses_lie_on_one_side_the_nearest_are_kept(stresses_psi):
    first, *_, last = stresses_psi
    far, near = (first, last) if last < LIMIT_PSI else (last, first)
    bent = [
        (psi, 2 * fines if psi == far else fines)
        for psi, fines in a_series(6, stresses_psi=stresses_psi)
    ]

    curve = fit_fines(bent)

    assert near in curve.stresses_psi
    assert far not in curve.stresses_psi
    assert curve.crossing().extrapolated


def test_a_specimen_without_fines_is_left_out_and_named():
    curve = fit_fines([*a_series(12), (1000, 0.0)])

    assert curve.findings == ("a specimen of 0 % fines at 1000 psi is not in the curve",)
    assert curve.stresses_psi[0] == 6000


@pytest.mark.parametrize(
    "specimens",
    [
        pytest.param([], id="none"),
        pytest.param([(8000, 9.0), (9000, 11.0)], id="two specimens"),
        pytest.param([(8000, 9.0), (8000, 9.1), (8000, 9.2)], id="one stress"),
        pytest.param([(8000, 12.0), (9000, 11.0), (10_000, 10.0)], id="falling"),
        pytest.param([(8000, 9.0), (9000, 0.0), (10_000, 0.0), (11_000, 100.0)], id="no odds"),
    ],
)
def test_specimens_that_fix_no_rising_curve_have_none(specimens):
    assert fit_fines(specimens) is None


def test_a_rise_too_unsure_bounds_no_stress():
    crossing = fit_fines([(8000, 9.0), (8000, 13.0), (9000, 8.0), (9000, 15.0)]).crossing()

    assert (crossing.low_psi, crossing.high_psi) == (None, None)


def test_a_curve_that_hardly_rises_never_comes_to_the_limit():
    assert fit_fines([(8000, 1.0), (8000, 1.002), (9000, 1.001), (9000, 1.003)]).crossing() is None


@settings(max_examples=50)
@given(
    st.lists(
        st.tuples(st.sampled_from([2000, 4000, 5000, 8000, 15_000]), st.floats(0, 100)), max_size=12
    )
)
def test_whatever_the_specimens_a_curve_only_rises(specimens):
    curve = fit_fines(specimens)

    if curve is not None:
        drawn = [curve.fines_pct(psi) for psi in range(1000, 16_000, 500)]
        assert drawn == sorted(drawn)
        crossing = curve.crossing()
        if crossing is not None and crossing.low_psi is not None:
            low_psi, high_psi = crossing.low_psi * (1 - 1e-9), crossing.high_psi * (1 + 1e-9)
            assert low_psi <= crossing.stress_psi <= high_psi


def test_a_stress_of_nothing_is_refused():
    with pytest.raises(InputError, match="expected finite numbers, and a stress above zero"):
        fit_fines([(0.0, 4.0)])
