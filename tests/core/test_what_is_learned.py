"""What a run learned of press and hand, handed on to the next one."""

import math

import pytest

from ramphold.core import PacingStart, Reading, RunPlan, Style, Tracker

KNOWN = PacingStart(
    gain_factor=1.4,
    gain_sd=0.2,
    scatter=0.8,
    sag_per_s=0.004,
    delay_s=0.42,
    follow_per_s=0.7,
    base_pace=0.3,
    top_up_per_s=0.03,
)


def tracker(start, style=Style.SQUEEZE):
    return Tracker(RunPlan(target_psi=4000.0, pacing=start, style=style), t_ns=0)


def test_a_run_that_saw_nothing_hands_on_what_it_started_from():
    learned = tracker(KNOWN).learned
    for name in ("gain_factor", "scatter", "sag_per_s", "delay_s"):
        assert getattr(learned, name) == pytest.approx(getattr(KNOWN, name))
    for name in ("follow_per_s", "base_pace", "top_up_per_s"):
        assert getattr(learned, name) == pytest.approx(getattr(KNOWN, name))


def test_the_gain_is_handed_on_as_less_sure_since_the_next_bed_is_another():
    assert tracker(KNOWN).learned.gain_sd > KNOWN.gain_sd


def test_what_is_handed_on_unused_for_ever_ends_as_unsure_as_a_beginner():
    start = KNOWN
    for _ in range(100):
        start = tracker(start).learned
    assert start.gain_sd == PacingStart().gain_sd
    assert start.gain_factor == pytest.approx(KNOWN.gain_factor)


@pytest.mark.parametrize("wild", [1e-9, 1e9])
def test_wild_values_are_taken_as_the_nearest_that_a_press_and_a_hand_can_have(wild):
    start = PacingStart(
        gain_factor=wild,
        gain_sd=wild,
        scatter=wild,
        sag_per_s=wild,
        delay_s=wild,
        follow_per_s=wild,
        base_pace=wild,
        top_up_per_s=wild,
    )
    learned = tracker(start).learned
    assert 0.099 <= learned.gain_factor <= 10.01
    assert 0.05 <= learned.gain_sd <= 0.5
    assert 0.2 <= learned.scatter <= 4
    assert 0 <= learned.sag_per_s <= 0.02
    assert 0.05 <= learned.delay_s <= 1.1
    assert 0.4 <= learned.follow_per_s <= 2.5
    assert -2 <= learned.base_pace <= 3
    assert 0.005 <= learned.top_up_per_s <= 0.5


def test_strokes_as_called_on_a_strong_press_are_handed_on_as_a_larger_gain():
    # A load that gains 1.5 times what a usual press would, by every stroke that is called.
    one = tracker(PacingStart(), Style.STROKES)
    psi, t_ns, steps = 0.0, 0, []
    for _ in range(1200):
        t_ns += 100_000_000
        cue = one.snapshot().cue
        if not steps and cue is not None and cue.kind == "stroke":
            gain_psi = 1.5 * cue.size * 1000 / (0.8 + 0.6 / math.sqrt(max(psi, 100) / 1000))
            steps = [0.0, 0.0, *[gain_psi / 4] * 4, *[0.0] * 8]
        psi += steps.pop(0) if steps else (2.0 if psi < 110 else 0.0)
        one.feed(Reading(t_ns=t_ns, force_lbf=psi * math.pi))
    learned = one.learned
    # It reckons with a sag of 8 % before a stroke is measured, and this load does not sag.
    assert learned.gain_factor == pytest.approx(1.5 * 1.08, rel=0.05)
    assert learned.gain_sd < 0.2
