"""How seldom spikes alone raise a warning of a limit: the figures that `_warnings` states.

A false alarm takes a spike of two readings and another spike within two readings of it, so rare
that no simulation of reasonable length sees one. What is simulated is what follows once they
have met; how often they meet is the product of their rates.
"""

import math
import random

import pytest

from ramphold.core import Reading, RunPlan, RunState, WarningRaised
from ramphold.core._warnings import Warnings

PLAN = RunPlan(target_psi=4000.0, rating_lbf=1e6)
AREA_IN2 = math.pi
# Of the study's sensor: one reading in 1000 begins a spike, one spike in ten lasts two readings.
SPIKE_SHARE, REPEAT_SHARE, SPIKE_PSI = 0.001, 0.1, 16_000.0
#: Heights that differ by more than this never agree; drawing no further apart saves time.
WIDTHS_PSI = {10: 4000.0, 80: 600.0}
PLACES = (-2, -1, 2, 3)
TRIES = 400


def raises(per_s, heights_psi):
    """Whether readings at the target, with spikes at some places, raise anything."""
    warnings, events = Warnings(PLAN), []
    for i in range(13):
        psi = 4000.0 + heights_psi.get(i, 0.0)
        reading = Reading(t_ns=i * 1_000_000_000 // per_s, force_lbf=psi * AREA_IN2)
        events += warnings.feed(reading, RunState.HOLD)
    return any(isinstance(event, WarningRaised) for event in events)


def met(per_s, place, rng):
    """Heights of a double spike and of a single one, drawn close together, and if they raise."""
    width_psi = WIDTHS_PSI[per_s]
    double_psi = rng.uniform(-SPIKE_PSI, SPIKE_PSI)
    single_psi = double_psi + rng.uniform(-width_psi, width_psi)
    heights = {5: double_psi, 6: double_psi, 5 + place: single_psi}
    possible = abs(single_psi) <= SPIKE_PSI
    return double_psi, single_psi, possible and raises(per_s, heights)


def false_alarms_per_reading(per_s):
    rng = random.Random(per_s)
    total = 0.0
    for place in PLACES:
        tries = [met(per_s, place, rng) for _ in range(TRIES)]
        # Nothing agrees near the edge of what is drawn, so nothing beyond it would.
        assert all(abs(a - b) < 0.7 * WIDTHS_PSI[per_s] for a, b, alarm in tries if alarm)
        drawn_share = WIDTHS_PSI[per_s] / SPIKE_PSI
        total += sum(alarm for _, _, alarm in tries) / TRIES * drawn_share
    return SPIKE_SHARE * REPEAT_SHARE * SPIKE_SHARE * total


@pytest.mark.slow
@pytest.mark.parametrize(
    ("per_s", "stated", "run_s"), [(10, 1.5e-8, 240), (80, 2e-9, 240)], ids=["10/s", "80/s"]
)
def test_false_alarms_are_as_rare_as_stated_at_either_rate(per_s, stated, run_s):
    rate = false_alarms_per_reading(per_s)
    assert rate == pytest.approx(stated, rel=0.25)
    # One in 25 000 runs of a two-minute ramp and a two-minute hold.
    assert 1 / (rate * per_s * run_s) == pytest.approx(25_000, rel=0.3)


@pytest.mark.slow
@pytest.mark.parametrize("per_s", [10, 80])
def test_further_apart_than_two_readings_no_two_spikes_raise_anything(per_s):
    rng = random.Random(2)
    for place in (-4, -3, 4, 5):
        assert not any(met(per_s, place, rng)[2] for _ in range(TRIES // 4))


@pytest.mark.parametrize("per_s", [10, 80])
@pytest.mark.parametrize("height_psi", [100.0, 1000.0, 16_000.0])
def test_two_readings_over_a_limit_raise_nothing_and_a_third_does(per_s, height_psi):
    assert not raises(per_s, {5: height_psi})
    assert not raises(per_s, {5: height_psi, 6: height_psi})
    assert not raises(per_s, {5: height_psi, 7: height_psi})
    assert raises(per_s, {5: height_psi, 6: height_psi, 7: height_psi})
    assert raises(per_s, {5: height_psi, 6: height_psi, 8: height_psi})
