import math
import random
import statistics

import pytest

from ramphold.errors import InputError
from ramphold.method.control_chart import BASE_DAYS, chart, judged

# from memory: NIST/SEMATECH e-Handbook 6.3.2.2, ten flow rates
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]

#: Days with a mean of 8 and a moving range of 1.128, which is a deviation of one.
BASE = [8 + side * 1.128 / 2 for side in (1, -1)] * (BASE_DAYS // 2)


def signals(days):
    return [(one.index, one.signal) for one in judged(chart(days), days) if one.signal]


def test_the_handbooks_flow_rates_have_their_published_limits():
    # published: limits quoted from e-Handbook 6.3.2.2, three sigma either side; recomputed
    found = chart(FLOW)

    assert found.centre == pytest.approx(50.81)
    assert found.centre + 3 * found.sigma == pytest.approx(55.8041, abs=5.1e-5)
    assert found.centre - 3 * found.sigma == pytest.approx(45.8159, abs=5.1e-5)


def test_the_deviation_of_the_chart_is_that_of_normal_days():
    sigmas = [
        chart(statistics.NormalDist(8.0, 0.4).samples(BASE_DAYS, seed=seed)).sigma
        for seed in range(400)
    ]

    assert statistics.fmean(sigmas) == pytest.approx(0.4, rel=0.03)


def test_the_base_stays_as_it_is_whatever_comes_after_it():
    assert chart([*BASE, 100.0, 200.0]) == chart(BASE)


def test_before_the_base_is_complete_nothing_is_judged():
    days = [*BASE[:-2], 100.0]
    assert not chart(days).complete
    assert judged(chart(days), days) == ()


def test_a_day_of_the_base_is_not_judged_by_limits_that_it_helped_to_set():
    assert signals([100.0, *BASE[1:]]) == []
    assert [one.index for one in judged(chart(BASE), [*BASE, 8.0])] == [BASE_DAYS]


@pytest.mark.parametrize("side", [1, -1])
def test_a_single_day_far_off_signals_at_once(side):
    assert signals([*BASE, 8 + side * 4.6]) == [(BASE_DAYS, "a day beyond 4.5 deviations")]


@pytest.mark.parametrize("side", [1, -1])
def test_a_small_shift_that_stays_signals_by_the_moving_average(side):
    found = signals([*BASE, *[8 + side * 1.5] * 10])
    assert found[0][1] == "the moving average is beyond its limits"
    # By hand: 1.5 (1 - 0.8^n) first passes sqrt(1 - 0.8^2n) on the fifth day.
    assert found[0][0] == BASE_DAYS + 4


def test_the_moving_average_is_that_of_the_handbook():
    # from memory: e-Handbook 6.3.2.4, lambda 0.3 there; the recursion worked by hand with 0.2
    days = [*BASE, 9.0, 7.0]
    first, second = judged(chart(days), days)
    assert (first.average, second.average) == pytest.approx((8.2, 7.96))
    assert first.upper == pytest.approx(8 + 3 * 0.2)
    assert second.upper == pytest.approx(8 + 3 * math.sqrt(0.2 / 1.8 * (1 - 0.8**4)))


def test_a_signal_is_not_told_again_of_the_same_days():
    assert signals([*BASE, 20.0, 8.0, 8.0]) == [(BASE_DAYS, "a day beyond 4.5 deviations")]


def length(chance, shift, longest=3000):
    """Days after a drawn base until the first signal."""
    days = [chance.gauss(0, 1) for _ in range(BASE_DAYS)]
    days += [chance.gauss(shift, 1) for _ in range(longest)]
    return next((at + 1 - BASE_DAYS for at, _ in signals(days)), longest)


@pytest.mark.slow
def test_in_control_a_signal_comes_once_in_300_days_or_more():
    # An independent simulation with numpy gave 690 days; here runs are cut off at 3000.
    chance = random.Random(4)
    assert statistics.fmean(length(chance, 0.0) for _ in range(250)) > 300


def test_a_shift_of_two_deviations_is_found_in_ten_days_or_fewer():
    chance = random.Random(5)
    assert statistics.fmean(length(chance, 2.0, 400) for _ in range(400)) < 5


@pytest.mark.parametrize(("within", "between"), [(1.0, 1.0), (0.5, 1.0), (1.0, 0.0)])
def test_days_that_deviate_more_than_their_specimens_raise_no_more_alarms(within, between):
    chance, told, days_judged = random.Random(6), 0, 0
    for _ in range(120):
        days = []
        for _ in range(BASE_DAYS + 60):
            today = chance.gauss(8.0, between)
            days.append(statistics.fmean(chance.gauss(today, within) for _ in range(3)))
        told += len(signals(days))
        days_judged += 60
    # Three specimens a day taken one by one signal at 9 to 22 % of the points.
    assert told / days_judged < 0.02


@pytest.mark.parametrize("days", [[], [1.0], [1.0, math.nan]])
def test_a_chart_of_too_few_or_broken_days_is_refused(days):
    with pytest.raises(InputError, match="expected 2 or more, all finite"):
        chart(days)
