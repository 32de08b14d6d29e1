import math

import pytest

from ramphold.errors import InputError
from ramphold.method.daily_check import CHECK_WEIGHT, LOAD_SPAN, LOAD_ZERO, Verdict, judge
from ramphold.method.force_class import CLASSES


@pytest.mark.parametrize(
    ("measured", "verdict"),
    [
        (100.000, Verdict.GOOD),
        (100.002, Verdict.GOOD),
        (99.998, Verdict.GOOD),
        (100.003, Verdict.WARNING),
        (99.995, Verdict.WARNING),
        (100.006, Verdict.FAILED),
        (99.994, Verdict.FAILED),
    ],
)
def test_a_check_weight_warns_before_it_fails(measured, verdict):
    assert judge(CHECK_WEIGHT, measured, 100.0, 100.0).verdict is verdict


def test_a_zero_is_judged_by_the_full_range():
    found = judge(LOAD_ZERO, 36.0, 0.0, 50_000.0)

    assert found.off_pct == pytest.approx(0.072)
    assert found.verdict is Verdict.WARNING


def test_a_span_is_judged_by_its_known_load():
    assert judge(LOAD_SPAN, 4051.0, 4000.0, 4000.0).verdict is Verdict.FAILED
    assert judge(LOAD_SPAN, 3961.0, 4000.0, 4000.0).verdict is Verdict.WARNING
    assert judge(LOAD_SPAN, 4019.0, 4000.0, 4000.0).verdict is Verdict.GOOD


def test_a_load_chain_that_fails_is_out_of_class_1():
    # from memory: ISO 7500-1:2018 Table 2, class 1
    class_1 = CLASSES[1]

    assert (LOAD_SPAN.fail_pct, LOAD_ZERO.fail_pct) == (class_1.error_pct, class_1.zero_pct)


@pytest.mark.parametrize("given", [(math.nan, 0.0, 1.0), (0.0, math.inf, 1.0), (0.0, 0.0, 0.0)])
def test_a_check_without_sense_is_refused(given):
    with pytest.raises(InputError, match="expected finite numbers and a weight above zero"):
        judge(CHECK_WEIGHT, *given)
