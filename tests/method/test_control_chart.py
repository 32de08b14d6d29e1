import math
import random
import statistics

import pytest

from ramphold.errors import InputError
from ramphold.method.control_chart import (
    WESTERN_ELECTRIC,
    Chart,
    Signal,
    chart,
    signals,
)

# from memory: NIST/SEMATECH e-Handbook 6.3.2.2, ten flow rates
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]

UNIT = Chart(centre=0.0, sigma=1.0, lower=-3.0, upper=3.0, range_centre=1.128, range_upper=3.685)


def spoken(values):
    return signals(UNIT, values)


def test_the_handbooks_flow_rates_have_their_published_limits():
    # published: limits quoted from e-Handbook 6.3.2.2; recomputed
    found = chart(FLOW)

    assert found.centre == pytest.approx(50.81)
    assert found.range_centre == pytest.approx(1.8778, abs=5e-5)
    assert (found.upper, found.lower) == pytest.approx((55.8041, 45.8159), abs=5.1e-5)
    assert found.range_upper == pytest.approx(6.1347, abs=5.1e-5)


def test_the_handbooks_flow_rates_are_in_control():
    assert signals(chart(FLOW), FLOW, WESTERN_ELECTRIC[:1]) == ()


def test_the_sigma_of_the_chart_is_that_of_normal_results():
    normal = statistics.NormalDist(8.0, 0.4).samples(4000, seed=2)

    assert chart(normal).sigma == pytest.approx(0.4, rel=0.03)


# from memory: Western Electric (1956)
WESTERN_CASES = {
    "1 beyond 3 sigma": [0.0, 3.1],
    "2 of 3 beyond 2 sigma on one side": [2.1, 0.0, 2.1],
    "4 of 5 beyond 1 sigma on one side": [-1.1, -1.1, 0.5, -1.1, -1.1],
    "8 in a row on one side": [0.1] * 8,
}


@pytest.mark.parametrize(("name", "values"), WESTERN_CASES.items())
def test_a_rule_speaks_at_the_result_that_completes_it_and_not_before(name, values):
    assert spoken(values) == (Signal(rule=name, index=len(values) - 1),)


def test_every_rule_has_its_case():
    assert set(WESTERN_CASES) == {rule.name for rule in WESTERN_ELECTRIC}


@pytest.mark.parametrize(
    "values",
    [
        pytest.param([3.0, -3.0], id="on the limit is not beyond it"),
        pytest.param([2.1, 0.0, -2.1], id="either side of the centre"),
        pytest.param([2.1, 0.0, 0.0, 2.1], id="too far apart"),
        pytest.param([0.1] * 7 + [-0.1], id="a row of seven"),
        pytest.param([0.1] * 7 + [0.0], id="on the centre is on no side"),
        pytest.param([1.1, 1.1, 0.5, 1.1, 0.5], id="three of five"),
    ],
)
def test_short_of_a_western_electric_rule_nothing_is_said(values):
    assert spoken(values) == ()


def test_a_rule_does_not_speak_again_of_results_long_past():
    assert spoken([2.1, 2.1, 0.0, 0.0]) == (
        Signal(rule="2 of 3 beyond 2 sigma on one side", index=1),
    )


@pytest.mark.slow
def test_the_western_electric_rules_raise_a_false_alarm_about_once_in_92_results():
    # from memory: Champ and Woodall (1987), Technometrics 29(4): 91.75 results on the mean
    chance = random.Random(4)
    lengths = []
    for _ in range(300):
        window = []
        count = 0
        while True:
            window = [*window[-7:], chance.gauss(0, 1)]
            count += 1
            last = len(window) - 1
            if any(signal.index == last for signal in spoken(window)):
                break
        lengths.append(count)

    assert statistics.fmean(lengths) == pytest.approx(91.75, rel=0.15)


@pytest.mark.parametrize("values", [[], [1.0], [1.0, math.nan]])
def test_a_chart_of_too_few_or_broken_results_is_refused(values):
    with pytest.raises(InputError, match="expected 2 or more, all finite"):
        chart(values)
