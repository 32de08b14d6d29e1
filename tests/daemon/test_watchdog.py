"""When the service manager is told that all is well, and when it must not be."""

from ramphold.daemon._watchdog import Watchdog


def run(*steps):
    """What the watchdog says at each (time in s, rounds, readings read, readings taken)."""
    watchdog = Watchdog(0.0)
    return [
        watchdog.well(now_s, rounds=rounds, read=read, taken=taken)
        for now_s, rounds, read, taken in steps
    ]


def test_readings_that_come_and_are_taken_are_well():
    assert run((1, 10, 10, 10), (2, 20, 20, 19), (3, 30, 30, 30)) == [True] * 3


def test_a_silent_instrument_whose_thread_comes_round_is_well_for_ever():
    assert run(*((t, 10 * t, 7, 7) for t in range(1, 300))) == [True] * 299


def test_a_thread_that_no_longer_comes_round_is_not_well_after_half_a_minute():
    assert run((1, 10, 10, 10), (30.9, 10, 10, 10), (31, 10, 10, 10)) == [True, True, False]


def test_readings_that_come_and_are_not_taken_are_not_well_after_five_seconds():
    steps = ((1, 10, 10, 10), (2, 20, 20, 10), (5.9, 59, 59, 10), (6, 60, 60, 10))
    assert run(*steps) == [True, True, True, False]


def test_what_goes_on_again_is_well_again():
    steps = ((1, 1, 1, 1), (40, 1, 1, 1), (41, 2, 2, 2))
    assert run(*steps) == [True, False, True]
