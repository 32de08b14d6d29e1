import random

import pytest
from _screen import rendered

from ramphold.core import Reading, RunPlan, RunState, Tracker
from ramphold.sim import Operator, Press, PressParameters, Sensor, SensorParameters

SINGLE_SPIKES = SensorParameters(repeat_share=0.0)


def crush(seed, target_psi):
    rng = random.Random(seed)
    press = Press(PressParameters().draw(rng), rng)
    sensor, operator = Sensor(rng, SINGLE_SPIKES), Operator(rng)
    tracker = Tracker(RunPlan(target_psi=target_psi), t_ns=0)
    screen = None
    for t_ns in range(100_000_000, 600_000_000_000, 100_000_000):
        move = operator.act(t_ns, screen)
        force_lbf = press.step(t_ns, move)
        tracker.feed(Reading(t_ns=t_ns, force_lbf=sensor.read(force_lbf, pumping=move.travel > 0)))
        screen = rendered(tracker.snapshot(), t_ns)
        if tracker.ended:
            break
    return tracker


@pytest.mark.parametrize("seed", range(1, 4))
def test_a_person_who_follows_the_line_gets_a_run_that_passes(seed):
    tracker = crush(seed, 4000.0)
    assessment = tracker.assess()
    assert tracker.state is RunState.COMPLETE
    assert [check.name for check in assessment.checks if check.passed is False] == []


def test_the_same_seed_gives_the_same_run():
    assert crush(5, 1000.0).assess() == crush(5, 1000.0).assess()
