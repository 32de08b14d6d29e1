"""What single figures of the pacing do; each of these fails if the figure is twice, or none."""

import math
from itertools import pairwise

import pytest

from ramphold.core import CueKind, PacingStart, Reading, RunPlan, RunState, Tracker
from ramphold.core._learning import Learned
from ramphold.core._top_ups import TopUps

S = 1_000_000_000
R = 2000 / 60


def after_an_even_pull(start, lasting_s):
    """The newest snapshot of a run whose load keeps to its line."""
    tracker = Tracker(RunPlan(target_psi=4000.0, pacing=start), t_ns=0)
    for i in range(round(lasting_s * 10)):
        t_s = i / 10
        psi = 10 * t_s if t_s < 10 else 100 + R * (t_s - 10)
        tracker.feed(Reading(t_ns=i * S // 10, force_lbf=psi * math.pi))
    assert tracker.state is RunState.RAMP
    return tracker.snapshot()


@pytest.mark.parametrize("delay_s", [0.2, 0.6])
def test_the_load_of_a_cue_is_that_of_a_hands_delay_and_one_reading_later(delay_s):
    snapshot = after_an_even_pull(PacingStart(delay_s=delay_s), 60.0)
    assert snapshot.cue.kind is CueKind.SQUEEZE
    # The steadied load, a median of three, is a reading old.
    ahead_psi = snapshot.cue.load_psi - snapshot.stress_psi
    assert ahead_psi == pytest.approx(R * (delay_s + 0.1), abs=1.0)


@pytest.mark.parametrize("gain_sd", [0.1, 0.4])
def test_the_ceilings_guard_reckons_with_a_gain_two_deviations_over_the_likeliest(gain_sd):
    learned = Learned(PacingStart(gain_sd=gain_sd))
    likeliest_psi = learned.gain_psi(3000.0)
    assert learned.most_psi(1.0, 3000.0) >= math.exp(2 * gain_sd) * likeliest_psi
    assert learned.most_psi(1.0, 3000.0) < math.exp(2 * gain_sd + 0.5) * likeliest_psi


def test_a_top_up_is_cued_for_as_long_as_this_hand_takes_to_gain_what_is_wanted():
    # 0.02 strokes a second of 1000 psi are 20 psi/s.
    assert TopUps(0.02).lasts_s(30.0, 1000.0) == pytest.approx(1.5)
    assert TopUps(0.04).lasts_s(30.0, 1000.0) == pytest.approx(0.75)


@pytest.mark.parametrize(
    ("target_psi", "after_s", "within_s"), [(2000.0, 1.3, 1.7), (4000.0, 2.2, 2.7)]
)
def test_a_reading_that_sticks_is_warned_of_in_so_many_seconds(target_psi, after_s, within_s):
    tracker = Tracker(RunPlan(target_psi=target_psi), t_ns=0)
    stuck_ns = warned_ns = None
    for i in range(400):
        t_s = i / 10
        psi = 10 * t_s if t_s < 10 else 100 + R * (min(t_s, 30.0) - 10)
        tracker.feed(Reading(t_ns=i * S // 10, force_lbf=psi * math.pi))
        if stuck_ns is None and t_s >= 30.0:
            stuck_ns = i * S // 10
        warned = "load does not answer" in {w.kind.value for w in tracker.snapshot().warnings}
        if warned and warned_ns is None:
            warned_ns = i * S // 10
    assert after_s < (warned_ns - stuck_ns) / S <= within_s


@pytest.mark.parametrize(("per_s", "each"), [(10, 1), (40, 1), (80, 2), (320, 8)])
def test_a_cue_is_worked_out_forty_times_a_second_at_most_and_as_soon_as_the_state_changes(
    per_s, each
):
    tracker = Tracker(RunPlan(target_psi=4000.0), t_ns=0)
    worked_out, changed = [], []
    for i in range(12 * per_s):
        before = tracker.state
        psi = 10 * i / per_s if i < 10 * per_s else 100 + R * (i / per_s - 10)
        tracker.feed(Reading(t_ns=round(i * S / per_s), force_lbf=psi * math.pi))
        cue = tracker.snapshot().cue
        if cue is not None and cue.t_ns == round(i * S / per_s):
            worked_out.append(i)
        if tracker.state is not before:
            changed.append(i)
    assert set(changed) <= set(worked_out)
    last = [i for i in worked_out if i > 11 * per_s]
    assert {b - a for a, b in pairwise(last)} == {each}
