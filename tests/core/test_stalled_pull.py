"""What is shown to a hand whose pull gains nothing, stuck reading or not."""

import pytest

from ramphold.core import RunPlan
from ramphold.core._answers import AnswerWatch
from ramphold.core._stalls import Stall

EVEN = 2000 / 60


class Stalled:
    """A pull whose load stands still, or sags, for a time."""

    def __init__(self, *, sags=False):
        self.watch = AnswerWatch(RunPlan(target_psi=4000.0))
        self.watch.sags = sags
        self.stall = Stall(self.watch)

    def shown(self, stalled_s, guide_psi):
        self.watch.stalled_s = stalled_s
        return self.stall.distance_psi(guide_psi, EVEN)

    def most_pace(self, stalled_s):
        self.watch.stalled_s = stalled_s
        return self.stall.most_pace


def test_between_the_slips_of_a_lever_the_guide_is_shown_as_it_is():
    pull = Stalled()
    for guide_psi in (-50.0, 0.0, 60.0):
        assert [pull.shown(s, guide_psi) for s in (0.0, 0.3, 0.6)] == [guide_psi] * 3


def test_a_stuck_reading_asks_for_half_of_what_moved_the_load_last_and_never_for_more():
    pull = Stalled()
    pull.shown(0.1, 40.0)
    assert [pull.shown(s, 20.0 * s + 40) for s in (0.8, 1.0, 1.2)] == [20.0] * 3
    assert pull.shown(1.2, 5.0) == 5.0


def test_a_hand_is_told_to_go_slower_for_a_moment_and_then_to_pull_and_never_to_stop():
    for sags in (False, True):
        pull = Stalled(sags=sags)
        pull.shown(0.1, -40.0)
        slower = pull.shown(1.0, -40.0)
        assert -0.5 * EVEN < slower < 0
        assert pull.shown(1.4, -40.0) > 0


def test_where_the_load_sags_more_is_asked_by_and_by_up_to_a_second_of_even_pull():
    pull = Stalled(sags=True)
    asked = [pull.shown(s, -40.0) for s in (1.4, 2.0, 2.6, 3.2, 9.0, 60.0)]
    assert asked == sorted(asked)
    assert len(set(asked[:4])) == 4
    assert asked[-2:] == [pytest.approx(EVEN)] * 2
    # What the guide asks for is not made less: the hand does not pull.
    pull.shown(0.1, 10.0)
    assert pull.shown(1.0, 60.0) == 60.0


@pytest.mark.parametrize(
    ("stalled_s", "stuck", "sagging"), [(0.4, 1.5, 1.5), (0.6, 1.0, 1.0), (0.8, 0.5, 1.0)]
)
def test_a_hand_is_hurried_only_while_the_load_moves_up(stalled_s, stuck, sagging):
    assert Stalled().most_pace(stalled_s) == stuck
    assert Stalled(sags=True).most_pace(stalled_s) == sagging
