"""A lever that slips and goes back up, on sand that creeps: no silence of the load, at any rate.

The pull is plain arithmetic: even on the mean, in slips of the lever, with a second for each
return of it. Slips of 1 to 1.5 % of a stroke and a second's return are guesses of a pacing study.
"""

import itertools

import pytest

from ramphold.core import Reading, RunPlan, RunState, Tracker, WarningKind, WarningRaised
from ramphold.core._noise import NoiseLevel

S = 1_000_000_000
R = 2000 / 60
TICKS_PER_S = 40


def pulled(target_psi, slip_psi, *, stroke_psi=700.0, creep_per_s=0.004):
    """The load of an uneven pull to the target, forty times a second."""
    psi = gathered_psi = used_psi = 0.0
    back = 0
    while psi < target_psi:
        psi -= creep_per_s * psi / TICKS_PER_S
        if back:
            back -= 1
        else:
            # Hands hurry a little, for what the returns cost.
            gathered_psi += (1.15 * R + creep_per_s * psi) / TICKS_PER_S
            if gathered_psi >= slip_psi:
                psi, used_psi, gathered_psi = psi + gathered_psi, used_psi + gathered_psi, 0.0
            if used_psi >= stroke_psi:
                back, used_psi = round(1.4 * TICKS_PER_S), 0.0
        yield psi


def tracked(target_psi, slip_psi, per_s):
    tracker, events = Tracker(RunPlan(target_psi=target_psi), t_ns=0), []
    for i, psi in enumerate(itertools.islice(pulled(target_psi, slip_psi), 100_000)):
        if i % (TICKS_PER_S // per_s) == 0:
            events += tracker.feed(Reading(t_ns=i * S // TICKS_PER_S, force_lbf=psi * 3.14159))
    assert tracker.state in (RunState.RAMP, RunState.HOLD)
    return {event.kind for event in events if isinstance(event, WarningRaised)}


@pytest.mark.parametrize("per_s", [4, 5, 10, 40])
@pytest.mark.parametrize("slip_psi", [8.0, 12.0, 18.0])
@pytest.mark.parametrize("target_psi", [2000.0, 4000.0])
def test_a_return_of_the_lever_is_no_silence(target_psi, slip_psi, per_s):
    assert WarningKind.NO_ANSWER not in tracked(target_psi, slip_psi, per_s)


@pytest.mark.parametrize("per_s", [5, 10, 40])
def test_the_slips_of_a_lever_do_not_count_as_noise(per_s):
    noise = NoiseLevel()
    for psi in itertools.islice(pulled(4000.0, 12.0), 0, None, TICKS_PER_S // per_s):
        noise.feed(psi)
    assert noise.sd < 1.0
