"""When conversions end, followed by a reader that may look late."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.instruments._phase import Phase

P = 12_500_000  # 80 a second
POLL = 500_000


def locked(period_ns=P):
    """A phase that has found its period; its newest conversion ended at 0."""
    phase = Phase(P)
    for number in range(-8, 1):
        end_ns = number * period_ns
        assert phase.place(end_ns - POLL, end_ns)
    assert phase.found
    return phase


@pytest.mark.parametrize("period_ns", [8_900_000, P, 14_000_000])
def test_the_true_period_is_found_from_eight_gaps(period_ns):
    assert locked(period_ns).period_ns == pytest.approx(period_ns, rel=1e-6)


def test_gaps_that_do_not_agree_find_no_period():
    phase = Phase(P)
    end_ns = 0
    for gap in (1, 2, 1, 3, 1, 2, 4, 1, 5):
        end_ns += gap * P
        phase.place(end_ns - POLL, end_ns)
    assert not phase.found


def test_a_first_conversion_that_nobody_saw_end_can_not_be_placed():
    assert not Phase(P).place(None, P)


def test_a_period_that_drifts_is_followed():
    phase, end_ns, period_ns = locked(), 0, float(P)
    for _ in range(2000):
        period_ns *= 1.00005  # by a tenth in all
        end_ns += round(period_ns)
        assert phase.place(end_ns - POLL, end_ns)
    assert phase.period_ns == pytest.approx(period_ns, rel=0.005)


def test_what_comes_too_soon_is_no_conversion():
    assert not locked().place(None, round(0.85 * P))
    assert not locked().place(round(0.83 * P), round(0.85 * P))


@pytest.mark.parametrize(
    ("seen", "end", "fits"),
    [
        # in periods after the end of the conversion before
        (1.0, 1.1, True),
        (1.5, 1.6, True),
        (1.7, 1.8, True),
        (1.7, 2.0, False),
        (2.3, 2.4, True),
        (1.95, 2.05, False),
    ],
)
def test_a_frame_read_late_fits_where_no_conversion_can_have_ended_in_it(seen, end, fits):
    phase = locked()
    assert phase.place(None, round(seen * P))
    assert phase.fits(round(end * P)) is fits


def test_after_more_than_two_conversions_unseen_nothing_is_sure():
    assert not locked().place(None, round(3.4 * P))


def test_a_reset_makes_the_next_one_a_first_one():
    phase = locked()
    phase.lose()
    assert not phase.place(None, P)
    assert phase.place(7 * P, 7 * P + POLL)
    assert phase.look_ns == 7 * P + round(0.8 * P)
    assert phase.overdue_ns == 7 * P + POLL + round(2.2 * P)


@given(st.integers(0, 2**32), st.floats(0.96, 1.04))
def test_a_frame_that_is_said_to_fit_never_holds_the_end_of_a_conversion(seed, off):
    # A converter up to 4 % off what was found, and a reader that is late by any time.
    rng = random.Random(seed)
    phase, true_ns, now_ns = locked(), off * P, 0
    for _ in range(12):
        now_ns += round(rng.choice((0.2, 0.8, 1.5, 2.5)) * rng.random() * P)
        read = int(phase.ended_ns // true_ns)
        busy_ns = None
        while int(now_ns // true_ns) <= read:
            busy_ns = now_ns
            now_ns += round(rng.choice((0.04, 0.04, 1.5)) * P)
        placed = phase.place(busy_ns, now_ns)
        first = now_ns // true_ns
        now_ns += round(rng.choice((0.02, 0.02, 0.7)) * P)
        if not placed or not phase.fits(now_ns):
            return
        assert now_ns // true_ns == first
        assert first * true_ns <= phase.ended_ns + 1
