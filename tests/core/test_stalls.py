"""What is asked of a hand while the load does not move up; true of any tuning."""

import pytest

from ramphold.core import RunPlan
from ramphold.core._answers import AnswerWatch
from ramphold.core._stalls import LEAST_PACE, MOST_PACE, Stall


def stall(stalled_s, *, sags=False):
    answers = AnswerWatch(RunPlan(target_psi=4000))
    answers.stalled_s, answers.sags = stalled_s, sags
    return Stall(answers)


def test_a_load_that_moves_may_be_asked_for_at_the_fastest_pace():
    assert stall(0.0).most_pace == MOST_PACE


def test_a_load_that_stands_is_asked_for_slowly_and_one_that_sags_evenly():
    assert stall(5.0).most_pace == LEAST_PACE
    assert stall(5.0, sags=True).most_pace == 1.0


def test_a_load_that_moves_has_the_distance_of_the_guide():
    assert stall(0.0).distance_psi(70.0, 33.0) == 70.0


@pytest.mark.parametrize("distance_psi", [-100.0, 0.0, 100.0, 400.0])
def test_the_longer_nothing_is_gained_the_less_is_asked_unless_the_load_sags(distance_psi):
    """A reading that sticks looks like a hand that pulls ever more slowly."""
    one = stall(0.0)
    one.distance_psi(distance_psi, 33.0)
    one._answers.stalled_s = 5.0
    stuck_psi = one.distance_psi(400.0, 33.0)
    # Half the distance at which it last moved, or a little ahead: never to stop.
    assert 0.0 < stuck_psi <= max(distance_psi / 2, 0.2 * 33.0)
    one._answers.sags = True
    assert one.distance_psi(400.0, 33.0) == 400.0
    assert one.distance_psi(0.0, 33.0) > stuck_psi or distance_psi > 60.0
