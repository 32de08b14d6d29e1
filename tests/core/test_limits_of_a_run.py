"""How far each figure of a run may be off before the run fails."""

import math

import pytest

from ramphold.core import Check, Reading, Rules, RunPlan, RunState
from ramphold.core._accounts import HoldAccount, RampAccount
from ramphold.core._answers import said_again
from ramphold.core._assessment import assess
from ramphold.testing.runs import drawn, fed


def test_each_figure_is_judged_by_the_limit_that_the_plan_sets():
    plan = RunPlan(target_psi=5000, hold_s=120)
    checks = fed(plan, drawn([(0, 0), (150, 5000), (271, 5000), (272, 0)]))[0].assess().checks
    limits = {check.name: check.limit for check in checks}
    assert limits["ramp rate"] == pytest.approx((1800, 2200))  # 2000 psi/min within 10 %
    assert limits["deviation from the line, rms"] == (None, 200)  # 4 % of the target
    assert limits["overshoot"] == (None, 2)
    assert limits["hold time"] == (119, 130)
    assert limits["hold mean"] == pytest.approx((4950, 5050))  # within 1 %
    assert limits["out of band"] == (None, 12)  # a tenth of the hold
    assert limits["longest gap"] == (None, 1)


def test_the_peak_of_a_load_of_half_a_pound_is_half_a_pound():
    plan = RunPlan(target_psi=4000, rules=Rules(contact_psi=0.1))
    readings = [Reading(t_ns=n * 10**8, force_lbf=0.5) for n in range(20)]
    assert fed(plan, readings)[0].assess().peak_lbf == pytest.approx(0.5)


@pytest.mark.parametrize(("psi", "state"), [(19.99, RunState.READY), (20.0, RunState.SEATING)])
def test_contact_is_made_at_twenty_psi(psi, state):
    plan = RunPlan(target_psi=4000)
    readings = [Reading(t_ns=n * 10**8, force_lbf=psi * plan.area_in2) for n in range(20)]
    assert fed(plan, readings)[0].state is state


@pytest.mark.parametrize(
    ("over_s", "said"), [(-0.1, False), (0.0, True), (0.69, True), (0.71, False), (1.41, True)]
)
def test_a_word_that_nobody_answers_is_said_in_another_word_in_turn_from_when_it_was_due(
    over_s, said
):
    assert said_again(over_s) == said


def test_a_ramp_lasts_from_its_first_reading_and_deviates_by_so_much():
    plan = RunPlan(target_psi=4000)
    ramp = RampAccount(plan, 7 * 10**9, 100.0)
    assert (ramp.lasted_s, ramp.rate_psi_min, ramp.rms_psi) == (0.0, None, None)
    for second in (8, 9, 13):  # unevenly spaced, each 6 psi over the line
        ramp.feed(second * 10**9, ramp.line_psi(second * 10**9) + 6.0)
    assert (ramp.lasted_s, ramp.rms_psi) == (6.0, pytest.approx(6.0))
    assert ramp.rate_psi_min == pytest.approx(plan.rate_psi_min + 60.0)
    # A minute after it crossed the seating load, 2000 psi more; and never over the target.
    assert (ramp.line_psi(67 * 10**9), ramp.line_psi(10**15)) == (2100.0, 4000.0)


@pytest.mark.parametrize(
    ("value", "limit", "excess"),
    [
        (110.0, (None, 100.0), 0.1),
        (90.0, (100.0, None), 0.1),
        (-110.0, (-100.0, 100.0), 0.1),
        (-80.0, (None, -100.0), 0.2),
        (3.0, (None, 2.0), 0.5),
        (1.0, (None, 0.0), math.inf),
        (-1.0, (0.0, None), math.inf),
        (100.0, (100.0, 100.0), 0.0),
        (None, (None, 100.0), math.inf),
    ],
)
def test_how_far_a_check_is_outside_its_limit_is_a_share_of_the_limit(value, limit, excess):
    check = Check(name="x", value=value, unit="psi", limit=limit, passed=False)
    assert check.excess == pytest.approx(excess)


@pytest.mark.parametrize(
    ("held_s", "passed"),
    [(118.9, False), (119.0, True), (130.0, True), (130.1, False)],
)
def test_a_figure_at_its_limit_passes(held_s, passed):
    plan = RunPlan(target_psi=4000, hold_s=120)
    hold = HoldAccount(plan, 0, 4000.0)
    hold.feed(round(held_s * 1e9), 4000.0)
    found = assess(
        plan, RunState.COMPLETE, ramp=None, hold=hold, peak_psi=4000.0, longest_gap_s=0.1
    )
    assert {check.name: check.passed for check in found.checks}["hold time"] is passed


def test_a_run_without_a_hold_was_out_of_no_band():
    assessment = fed(RunPlan(target_psi=4000), drawn([(0, 0), (60, 2000), (61, 0)]))[0].assess()
    assert (assessment.out_of_band_s, assessment.hold_s, assessment.hold_mean_psi) == (0, 0, None)
