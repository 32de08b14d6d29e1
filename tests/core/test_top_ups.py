"""What a top-up gained, and what that teaches of the next; true of any tuning."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core._top_ups import TopUp, TopUps, least_psi

S = 10**9
GAIN_PSI = 900.0


def made(top_ups, *, times, noise_psi=0.5, lasted_s=1.0):
    """A top-up that gained so many times what was expected of it."""
    one = TopUp(0, 4000.0, lasted_s)
    one.lasted_s = lasted_s
    one.gained_psi = one.kept_psi = times * lasted_s * top_ups.psi_s(GAIN_PSI)
    top_ups.made(one, GAIN_PSI, noise_psi)
    return top_ups


def test_a_top_up_begins_with_nothing():
    one = TopUp(0, 4000.0, 1.0)
    assert (one.gained_psi, one.kept_psi, one.lasted_s) == (0.0, 0.0, 0.0)


def test_its_gain_is_from_the_lowest_load_to_the_highest_after_it():
    one = TopUp(0, 4000.0, 1.0)
    for second, psi in enumerate((3990.0, 4005.0, 3980.0, 3985.0)):
        one.feed(second * S, psi)
    assert (one.gained_psi, one.kept_psi) == (15.0, 5.0)


def test_to_keep_a_load_that_fell_is_a_gain_over_half_its_fall():
    one = TopUp(0, 4000.0, 1.0, fell_psi_s=10.0)
    one.feed(2 * S, 4000.0)
    assert (one.gained_psi, one.kept_psi) == (0.0, 10.0)
    rising = TopUp(0, 4000.0, 1.0, fell_psi_s=-10.0)
    rising.feed(2 * S, 4000.0)
    assert rising.kept_psi == 0.0


def test_a_load_that_was_kept_is_an_answer_though_it_did_not_rise():
    top_ups, one = TopUps(0.05), TopUp(0, 4000.0, 1.0)
    one.lasted_s, one.kept_psi = 1.0, 100.0
    top_ups.made(one, GAIN_PSI, 0.5)
    assert top_ups.unanswered == 0


def test_top_ups_without_a_gain_are_counted_until_one_gains():
    top_ups = TopUps(0.05)
    for count in (1, 2, 3):
        assert made(top_ups, times=0.0).unanswered == count
    assert made(top_ups, times=1.0).unanswered == 0


def test_what_gained_as_expected_teaches_nothing_more_a_faster_hand_and_less_a_slower_one():
    per_s = [made(TopUps(0.05), times=times).per_s for times in (0.5, 1.0, 2.0)]
    assert per_s[0] < per_s[1] < per_s[2]
    assert per_s[1] == pytest.approx(0.05)


def test_after_one_that_was_not_answered_the_next_is_cued_for_twice_as_long():
    top_ups = TopUps(0.05)
    before_s = top_ups.lasts_s(40.0, GAIN_PSI)
    assert before_s == pytest.approx(40.0 / 45.0)
    made(top_ups, times=0.0)
    assert top_ups.lasts_s(40.0, GAIN_PSI) == pytest.approx(2 * before_s)


@given(st.floats(0.0, 10.0), st.lists(st.floats(0.0, 20.0), max_size=40))
def test_whatever_was_gained_a_cue_lasts_a_time_that_a_hand_can_make(per_s, gains):
    top_ups = TopUps(per_s)
    for times in gains:
        made(top_ups, times=times)
    short_s, long_s = top_ups.lasts_s(0.0, GAIN_PSI), top_ups.lasts_s(1e6, GAIN_PSI)
    assert 0.0 < short_s <= top_ups.lasts_s(40.0, GAIN_PSI) <= long_s < 20.0


@given(st.floats(0.0, 50.0), st.floats(0.0, 50.0))
def test_the_more_noise_the_more_has_to_be_gained(one_psi, other_psi):
    quiet_psi, loud_psi = sorted((one_psi, other_psi))
    assert 0.0 < least_psi(quiet_psi) <= least_psi(loud_psi)
    assert least_psi(50.0) > 50.0
