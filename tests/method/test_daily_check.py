import math
from dataclasses import replace

import pytest

from ramphold.errors import InputError
from ramphold.method.daily_check import (
    CHECK_WEIGHT,
    DAILY_CHECKS,
    LOAD_SPAN,
    LOAD_ZERO,
    CheckVerdict,
    daily_check,
    judge,
)
from ramphold.method.force_class import CLASSES


@pytest.mark.parametrize(
    ("measured", "verdict"),
    [
        (100.000, CheckVerdict.GOOD),
        (100.002, CheckVerdict.GOOD),
        (99.998, CheckVerdict.GOOD),
        (100.003, CheckVerdict.WARNING),
        (99.995, CheckVerdict.WARNING),
        (100.006, CheckVerdict.FAILED),
        (99.994, CheckVerdict.FAILED),
    ],
)
def test_a_check_weight_warns_before_it_fails(measured, verdict):
    assert judge(CHECK_WEIGHT, measured, 100.0, 100.0).verdict is verdict


def test_a_zero_is_judged_by_the_full_range():
    found = judge(LOAD_ZERO, 36.0, 0.0, 50_000.0)

    assert found.off_pct == pytest.approx(0.072)
    assert found.verdict is CheckVerdict.WARNING


def test_a_span_is_judged_by_its_known_load():
    assert judge(LOAD_SPAN, 4051.0, 4000.0, 4000.0).verdict is CheckVerdict.FAILED
    assert judge(LOAD_SPAN, 3961.0, 4000.0, 4000.0).verdict is CheckVerdict.WARNING
    assert judge(LOAD_SPAN, 4019.0, 4000.0, 4000.0).verdict is CheckVerdict.GOOD


def test_a_load_chain_that_fails_is_out_of_class_1():
    # from memory: ISO 7500-1:2018 Table 2, class 1
    class_1 = CLASSES[1]

    assert (LOAD_SPAN.fail_pct, LOAD_ZERO.fail_pct) == (class_1.error_pct, class_1.zero_pct)


@pytest.mark.parametrize("given", [(math.nan, 0.0, 1.0), (0.0, math.inf, 1.0), (0.0, 0.0, 0.0)])
def test_a_check_without_sense_is_refused(given):
    with pytest.raises(InputError, match="expected finite numbers and a weight above zero"):
        judge(CHECK_WEIGHT, *given)


def test_a_check_is_due_once_its_days_have_passed_on_the_calendar():
    day_ns = 86_400 * 10**9
    late_ns, early_ns = 20_000 * day_ns - 1, 20_000 * day_ns

    assert LOAD_ZERO.is_due(None, early_ns)
    assert LOAD_ZERO.is_due(late_ns, early_ns)
    assert not LOAD_ZERO.is_due(early_ns, early_ns + day_ns - 1)
    weekly = replace(LOAD_ZERO, every_days=7)
    assert not weekly.is_due(early_ns, early_ns + 7 * day_ns - 1)
    assert weekly.is_due(early_ns, early_ns + 7 * day_ns)


def test_a_check_is_found_by_the_name_that_its_records_carry():
    assert [daily_check(check.name) for check in DAILY_CHECKS] == list(DAILY_CHECKS)
    with pytest.raises(InputError, match="'mood' is no daily check: expected one of load zero, "):
        daily_check("mood")


def test_no_two_checks_share_a_name_or_a_command():
    for words in ([one.name for one in DAILY_CHECKS], [one.command for one in DAILY_CHECKS]):
        said = [word for word in words if word]
        assert len(said) == len(set(said))
