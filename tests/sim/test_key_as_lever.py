"""A key as the lever: short top-ups that fall between two looks are no silence of the load.

The hand looks twice a second. Its pull runs on for 0.6 s, so that it gains more than it was asked
for, and its top-ups are cued ever shorter.
"""

import random

import pytest
from _screen import rendered

from ramphold.core import Reading, RunPlan, RunState, Tracker, WarningKind, WarningRaised
from ramphold.sim import Hand, OwnHand, Press, PressParameters, Sensor, SensorParameters

TENTH_NS = 100_000_000
LOOKS_EVERY = 5
PULLS = {"READY", "SEATING", "SQUEEZE", "FASTER", "PULL ON", "TOP UP"}
RELEASES = {"RELEASE", "OPEN VALVE", "RELEASE FULLY"}


def by_key(target_psi, seed):
    """A whole run by the words on the screen; the tracker, and the warnings that it raised."""
    rng = random.Random(seed)
    press = Press(PressParameters().draw(rng), rng)
    hand, sensor = OwnHand(Hand(rng)), Sensor(rng, SensorParameters())
    tracker, t_ns, raised = Tracker(RunPlan(target_psi=target_psi), t_ns=0), 0, set()
    while not tracker.ended and t_ns < 4000 * TENTH_NS:
        t_ns += TENTH_NS
        word = rendered(tracker.snapshot(), t_ns).word
        if word in RELEASES:
            hand.release()
        elif word in PULLS and t_ns % (LOOKS_EVERY * TENTH_NS) == 0:
            hand.squeeze(t_ns)
        true_lbf = press.step(t_ns, hand.act(t_ns, press.stress_psi))
        events = tracker.feed(Reading(t_ns=t_ns, force_lbf=sensor.read(true_lbf, pumping=True)))
        raised |= {event.kind for event in events if isinstance(event, WarningRaised)}
    return tracker, raised


@pytest.mark.parametrize(
    ("target_psi", "seed"), [(2000.0, 5), (2000.0, 8), (2000.0, 11), (4000.0, 3)]
)
def test_a_hand_that_misses_short_top_ups_is_not_told_that_the_load_does_not_answer(
    target_psi, seed
):
    tracker, raised = by_key(target_psi, seed)
    assert tracker.state is RunState.COMPLETE
    assert WarningKind.NO_ANSWER not in raised
