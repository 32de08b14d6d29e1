"""A load that does not answer: stuck readings, and jumps that no press can make.

The press here is plain arithmetic, and the hand does whatever the cue says, 0.4 s late: what it
pumps up unseen is what a stuck reading could cost.
"""

import functools
import math
import random
from collections import deque

import pytest

from ramphold.core import (
    CueKind,
    Reading,
    RunPlan,
    RunState,
    Style,
    Tracker,
    Verdict,
    WarningKind,
    WarningRaised,
)
from ramphold.core._answers import AnswerWatch
from ramphold.core._situation import Situation

S = 1_000_000_000
TARGET_PSI = 4000.0
R = 2000 / 60
MOST = 0.05 * TARGET_PSI
PULLED = (CueKind.SQUEEZE, CueKind.PULL_ON, CueKind.TOP_UP)
#: What is added to the stuck reading, by the time since it stuck and by chance.
FAULTS = {
    "exact": lambda _, __: 0.0,
    "noisy": lambda _, rng: rng.gauss(0.0, 0.25 / math.pi),
    "very noisy": lambda _, rng: rng.gauss(0.0, 6 / math.pi),
    "drifting up": lambda since_s, _: 1.0 * since_s,
    "drifting down": lambda since_s, _: -1.0 * since_s,
    "quantised": lambda _, rng: 20 / math.pi * round(rng.gauss(0.0, 0.3)),
}


class Press:
    """A load that a hand pumps up as it is told, and an instrument that may stick."""

    def __init__(self, style, *, gain_per_s=1.0, target_psi=TARGET_PSI):
        self.plan = RunPlan(target_psi=target_psi, style=style)
        self.tracker = Tracker(self.plan, t_ns=0)
        self.gain_per_s = gain_per_s
        self.psi = self.most_psi = 0.0
        self.t_ns = 0
        self.events = []
        self.stuck = None
        self._rng = random.Random(1)
        self._cues = deque([None] * 4, maxlen=5)
        self._stroke = []
        self._stroked_ns = None

    def step(self):
        """A tenth of a second."""
        self.t_ns += S // 10
        self.psi = max(self.psi + self._pumped() - 0.0005 * self.psi / 10, 0.0)
        self.most_psi = max(self.most_psi, self.psi)
        read_psi = self.psi
        if self.stuck is not None:
            at_psi, since_ns, fault = self.stuck
            read_psi = at_psi + FAULTS[fault]((self.t_ns - since_ns) / S, self._rng)
        reading = Reading(t_ns=self.t_ns, force_lbf=read_psi * self.plan.area_in2)
        self.events += self.tracker.feed(reading)
        self._cues.append(self.tracker.snapshot().cue)

    def _pumped(self):  # noqa: PLR0911 - one return a cue
        state, cue = self.tracker.state, self._cues[0]
        if self._stroke:
            return self._stroke.pop(0)
        if state is RunState.READY:
            return 2.0
        if cue is None:
            return 0.0
        if cue.kind is not CueKind.STROKE:
            self._stroked_ns = None
        elif self._stroked_ns is not None and self.t_ns - self._stroked_ns < 1.5 * S:
            return 0.0
        else:
            self._stroked_ns = self.t_ns
            steps = max(round((0.25 + 0.5 * cue.size) * 10), 1)
            # Down, and back up again before anything else.
            self._stroke = [cue.size * 1000.0 / steps] * steps + [0.0] * 8
            return 0.0
        if cue.kind not in PULLED:
            return 0.0
        if cue.mark_psi is None or state is RunState.SEATING:
            return R / 2 / 10
        pace = R + self.gain_per_s * (cue.mark_psi - cue.load_psi)
        return min(max(pace, 0.0), 3 * R) / 10

    def go_to(self, psi):
        while self.psi < psi and self.t_ns < 400 * S:
            self.step()
        assert self.psi >= psi
        return self

    def stick(self, fault):
        """The instrument shows what it shows now, and the run goes on for a minute."""
        while self._stroke:
            # A stroke that is under way goes on, whatever the instrument shows.
            self.step()
        self.stuck = self.psi, self.t_ns, fault
        stuck_psi, self.most_psi = self.psi, self.psi
        for _ in range(600):
            self.step()
        return self.most_psi - stuck_psi

    @property
    def raised(self):
        return {event.kind for event in self.events if isinstance(event, WarningRaised)}


@functools.cache
def stuck(style, share, fault):
    press = Press(style).go_to(share * TARGET_PSI)
    return press, press.stick(fault)


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("style", Style)
@pytest.mark.parametrize("share", [i / 10 for i in range(1, 10)])
def test_readings_that_stick_in_the_ramp_cost_five_percent_of_the_target_at_most(
    style, share, fault
):
    press, rose_psi = stuck(style, share, fault)
    assert rose_psi <= MOST
    assert WarningKind.NO_ANSWER in press.raised
    assert press.tracker.snapshot().cue is None
    failed = {c.name for c in press.tracker.assess().checks if c.passed is False}
    assert "longest without an answer" in failed


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("style", Style)
@pytest.mark.parametrize("share", [0.985, 0.992, 1.0])
def test_readings_that_stick_at_the_target_cost_five_percent_at_most(style, share, fault):
    _, rose_psi = stuck(style, share, fault)
    assert rose_psi <= MOST


# A reading that drifts down to nothing while seating says that contact was lost, and before
# contact nothing can tell a stuck reading from a gap that is not closed yet.
@pytest.mark.slow
@pytest.mark.parametrize("fault", sorted(set(FAULTS) - {"drifting down"}))
@pytest.mark.parametrize("style", Style)
@pytest.mark.parametrize("psi", [30.0, 60.0, 90.0])
def test_readings_that_stick_while_seating_cost_five_percent_at_most(style, psi, fault):
    press = Press(style).go_to(psi)
    assert press.tracker.state is RunState.SEATING
    assert press.stick(fault) <= MOST


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("style", Style)
def test_readings_that_stick_in_the_hold_cost_five_percent_at_most(style, fault):
    press = Press(style).go_to(0.99 * TARGET_PSI)
    while press.tracker.state is not RunState.HOLD:
        press.step()
    for _ in range(250):
        press.step()
    assert press.tracker.state is RunState.HOLD
    assert press.stick(fault) <= MOST


@pytest.mark.slow
@pytest.mark.parametrize("gain_per_s", [0.5, 2.5])
@pytest.mark.parametrize("style", Style)
@pytest.mark.parametrize("share", [i / 10 for i in range(1, 10)])
def test_hands_that_hurry_and_hands_that_lag_gain_as_little_on_a_reading_that_sticks(
    style, share, gain_per_s
):
    press = Press(style, gain_per_s=gain_per_s).go_to(share * TARGET_PSI)
    assert press.stick("noisy") <= MOST


@pytest.mark.slow
@pytest.mark.parametrize("target_psi", [8000.0, 12_000.0])
@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_at_higher_targets_a_reading_that_sticks_costs_as_little(target_psi, share):
    for style in Style:
        press = Press(style, target_psi=target_psi).go_to(share * target_psi)
        assert press.stick("exact") <= 0.05 * target_psi


# A second and a half of an even pull is 2.5 % of this target, and what a hand pulls until it sees
# the warning comes on top. Most is gained by hands that are not learned yet, in the first seconds
# of the ramp.
@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("share", [i / 10 for i in range(1, 10)])
@pytest.mark.parametrize(
    ("style", "gain_per_s"),
    [(Style.STROKES, 1.0), (Style.SQUEEZE, 0.5), (Style.SQUEEZE, 1.0), (Style.SQUEEZE, 2.5)],
)
def test_at_2000_psi_a_reading_that_sticks_costs_as_little(style, gain_per_s, share, fault):
    press = Press(style, gain_per_s=gain_per_s, target_psi=2000.0).go_to(share * 2000.0)
    assert press.stick(fault) <= 0.05 * 2000.0


def test_a_load_that_sags_is_read_and_given_longer_than_one_that_stays_level():
    quiet_s = {}
    for sags_psi_s in (0.0, 5.0):
        press = Press(Style.SQUEEZE, target_psi=2000.0).go_to(1000.0)
        at_ns, area_in2 = press.t_ns, press.plan.area_in2
        while not press.tracker._pacer.silent:
            press.t_ns += S // 10
            psi = 1000.0 - sags_psi_s * (press.t_ns - at_ns) / S
            press.tracker.feed(Reading(t_ns=press.t_ns, force_lbf=psi * area_in2))
        quiet_s[sags_psi_s] = (press.t_ns - at_ns) / S
    assert quiet_s[0.0] < 1.8
    assert quiet_s[5.0] > 3.0


@pytest.mark.parametrize(("step_lbf", "within_s"), [(0.5, (2.2, 2.7)), (20.0, (2.9, 3.7))])
def test_at_4000_psi_too_a_level_load_is_given_less_if_the_instrument_would_show_a_sag(
    step_lbf, within_s
):
    press = Press(Style.SQUEEZE)
    feed = press.tracker.feed
    press.tracker.feed = lambda reading: feed(
        Reading(t_ns=reading.t_ns, force_lbf=round(reading.force_lbf / step_lbf) * step_lbf)
    )
    press.go_to(2000.0)
    at_ns = press.t_ns
    while not press.tracker._pacer.silent:
        press.t_ns += S // 10
        press.tracker.feed(Reading(t_ns=press.t_ns, force_lbf=2000.0 * math.pi))
    least_s, most_s = within_s
    assert least_s <= (press.t_ns - at_ns) / S <= most_s


@pytest.mark.parametrize("noise_psi", [0.0, 1.0])
@pytest.mark.parametrize("target_psi", [2000.0, 4000.0])
def test_a_reading_that_sticks_after_its_load_has_sagged_is_given_no_longer(target_psi, noise_psi):
    press = Press(Style.SQUEEZE, target_psi=target_psi).go_to(target_psi / 2)
    at_ns, area_in2, rng = press.t_ns, press.plan.area_in2, random.Random(2)
    while not press.tracker._pacer.silent:
        press.t_ns += S // 10
        since_s = (press.t_ns - at_ns) / S
        psi = target_psi / 2 - 5.0 * min(since_s, 1.0) + rng.gauss(0.0, noise_psi)
        press.tracker.feed(Reading(t_ns=press.t_ns, force_lbf=psi * area_in2))
    assert (press.t_ns - at_ns) / S <= 3.4


def test_an_instrument_too_coarse_to_show_a_sag_is_given_as_long_as_before():
    press = Press(Style.SQUEEZE, target_psi=2000.0)
    feed = press.tracker.feed
    press.tracker.feed = lambda reading: feed(
        Reading(t_ns=reading.t_ns, force_lbf=round(reading.force_lbf / 20) * 20.0)
    )
    press.go_to(1000.0)
    at_ns = press.t_ns
    while not press.tracker._pacer.silent:
        press.t_ns += S // 10
        press.tracker.feed(Reading(t_ns=press.t_ns, force_lbf=1000.0 * math.pi))
    assert (press.t_ns - at_ns) / S > 1.9


def test_an_answer_forgets_all_that_was_asked_for_in_vain_before():
    watch = AnswerWatch(RunPlan(target_psi=TARGET_PSI))
    watch.top_up_unanswered(expected_psi_s=100.0, lasted_s=0.7)
    watch.answered()
    # A fiftieth of the target is 80 psi: asked for, but not seen for long enough to tell.
    watch.top_up_unanswered(expected_psi_s=150.0, lasted_s=0.7)
    assert not watch.silent
    watch.top_up_unanswered(expected_psi_s=150.0, lasted_s=0.2)
    assert watch.silent


def test_on_a_slow_instrument_a_slip_that_is_over_by_its_third_reading_is_an_answer():
    plan = RunPlan(target_psi=2000.0)
    silent = {}
    for slip_psi in (0.0, 11.0):
        watch = AnswerWatch(plan)
        for i in range(14):
            psi = 234.0 - 0.1 * i + (slip_psi if i >= 6 else 0.0)
            now = Situation(
                plan=plan, ceiling_psi=2040.0, rate_psi_s=R, t_ns=i * S // 5, lag_s=0.2,
                since_last_s=0.2, period_s=0.2, stress_psi=psi, speed_psi_s=0.0, slow_psi_s=0.0,
                speed_noise_psi_s=0.0, state=RunState.RAMP, ramp=None, to_go_s=None,
                rising_since_ns=None, gains=False,
            )  # fmt: skip
            watch.feed(now, 0.1, asked=True)
        silent[slip_psi] = watch.silent
    assert silent == {0.0: True, 11.0: False}


def test_the_warning_is_latched_and_stays_while_the_load_does_not_answer():
    press, _ = stuck(Style.SQUEEZE, 0.5, "exact")
    (standing,) = press.tracker.snapshot().warnings
    assert standing.kind is WarningKind.NO_ANSWER
    assert standing.kind.latched
    assert standing.persists


def test_a_load_that_answers_as_it_is_told_raises_no_such_warning():
    for style in Style:
        press = Press(style).go_to(3990.0)
        for _ in range(1300):
            press.step()
        assert WarningKind.NO_ANSWER not in press.raised
        assert WarningKind.JUMPED not in press.raised


@pytest.mark.parametrize("by_psi", [500.0, -500.0])
@pytest.mark.parametrize("style", Style)
@pytest.mark.parametrize("share", [0.6, 0.8, 1.0])
def test_a_jump_that_no_press_can_make_is_warned_of_and_fails_the_run(style, share, by_psi):
    press = Press(style).go_to(share * (TARGET_PSI - 10))
    for _ in range(20):
        press.step()
    # The instrument is off by so much from one reading to the next, and stays so.
    read = press.tracker.feed
    press.tracker.feed = lambda reading: read(
        Reading(t_ns=reading.t_ns, force_lbf=reading.force_lbf + by_psi * math.pi)
    )
    for _ in range(20):
        press.step()
    assert WarningKind.JUMPED in press.raised
    assessment = press.tracker.assess()
    assert "jumps of the load" in {c.name for c in assessment.checks if c.passed is False}
    assert assessment.verdict is Verdict.FAIL
