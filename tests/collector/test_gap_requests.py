"""When a bench is asked for what is missing."""

import pytest

from ramphold.collector._gap_requests import GapRequests


@pytest.fixture
def asked():
    """What is asked for at each second while a gap stands as it is."""
    requests = GapRequests()

    def at(seconds, missing=((4, 6),), series="a"):
        return [now_s for now_s in seconds if requests.due(series, missing, now_s)]

    return at


def test_a_gap_is_asked_for_once_it_has_stood_and_then_ever_more_seldom(asked):
    assert asked(range(200)) == [10, 30, 70, 150]


def test_a_gap_is_asked_for_every_hour_at_most_seldom(asked):
    times = asked(range(0, 200_000, 10))
    assert times[-1] - times[-2] == 3600


def test_a_message_that_was_only_late_is_not_asked_for(asked):
    assert asked(range(9)) == []
    assert asked([9, 12], missing=()) == []
    assert asked(range(13, 22)) == []


def test_nobody_asks_while_the_gap_is_being_filled():
    requests = GapRequests()
    assert not any(requests.due("a", ((second, 900),), second) for second in range(1, 900))
    assert requests.due("a", ((899, 900),), 909) == ((899, 900),)


def test_a_bench_that_can_not_give_what_it_is_asked_for_is_not_asked_sooner_for_trying():
    # A record that the broker refuses: while it waits, the bench's word hides that it is missing.
    requests, stuck, asked, tries_until_s = GapRequests(), (9, 9), [], 0
    for now_s in range(2000):
        tries = now_s < tries_until_s
        if stuck in requests.due("a", () if tries else ((3, 3), stuck), now_s):
            asked.append(now_s)
            tries_until_s = now_s + 2
    assert asked == [10, 30, 70, 150, 310, 630, 1270]


def test_each_series_has_a_time_of_its_own(asked):
    assert asked(range(11), series="a") == [10]
    assert asked(range(11, 15), series="b") == []


def test_a_receipt_holds_the_first_hundred_gaps():
    requests = GapRequests()
    missing = [(number, number) for number in range(1, 1000, 2)]
    assert requests.due("a", missing, 0) == ()
    assert requests.due("a", missing, 10) == tuple(missing[:100])
