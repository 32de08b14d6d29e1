"""When which record is sent: in order, within bounds, again where no receipt comes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.publish._schedule import Schedule

S = 10**9


def deadline(schedule):
    """When the next receipt is overdue; None if none is awaited."""
    return min(schedule._due_ns.values(), default=None)


def even():
    return 0.5


def sent(schedule, waiting, now_ns=0, size=100):
    """All that the schedule lets go, in the order in which it does."""
    out = []
    while (record := schedule.next(waiting)) is not None:
        schedule.sent(record, size, now_ns)
        out.append(record)
    return out


def test_records_go_in_the_order_of_their_numbers_within_the_window():
    schedule = Schedule(even, window=3)
    assert sent(schedule, [4, 5, 6, 7, 8]) == [4, 5, 6]
    schedule.ended([5])
    assert sent(schedule, [4, 6, 7, 8]) == [7]


def test_no_more_bytes_than_bounded_are_on_their_way_but_one_record_always_goes():
    schedule = Schedule(even, most_bytes=1000)
    assert sent(schedule, [1, 2, 3, 4], size=600) == [1, 2]
    schedule.ended([1, 2])
    assert sent(schedule, [3, 4], size=9999) == [3]


def test_without_a_receipt_a_record_is_sent_again_and_waits_twice_as_long_each_time():
    schedule, now_ns, waits = Schedule(even), 0, []
    for _ in range(8):
        assert sent(schedule, [1], now_ns) == [1]
        waits.append((deadline(schedule) - now_ns) // S)
        assert schedule.overdue(deadline(schedule) - 1) == frozenset()
        now_ns = deadline(schedule)
        assert schedule.overdue(now_ns) == {1}
    assert waits == [30, 60, 120, 240, 480, 480, 480, 480]


def test_a_record_that_nobody_could_be_given_is_sent_again_sooner():
    schedule, now_ns, waits = Schedule(even), 0, []
    for _ in range(6):
        assert sent(schedule, [1], now_ns) == [1]
        schedule.unheard(1, now_ns)
        waits.append((deadline(schedule) - now_ns) // S)
        now_ns = deadline(schedule)
        assert schedule.overdue(now_ns) == {1}
    assert waits == [5, 10, 20, 40, 60, 60]


def test_what_is_said_of_a_record_that_has_its_receipt_changes_nothing():
    schedule = Schedule(even)
    sent(schedule, [1])
    schedule.ended([1])
    schedule.unheard(1, 0)
    assert deadline(schedule) is None


@pytest.mark.parametrize(("chance", "wait_s"), [(0.0, 22.5), (1.0, 37.5)])
def test_a_wait_is_off_by_up_to_a_quarter(chance, wait_s):
    schedule = Schedule(lambda: chance)
    sent(schedule, [1])
    assert deadline(schedule) == wait_s * S


def test_a_receipt_in_time_makes_the_next_wait_short_again():
    schedule = Schedule(even)
    sent(schedule, [1])
    schedule.overdue(30 * S)
    sent(schedule, [1], 30 * S)
    schedule.ended([1])
    assert deadline(schedule) is None
    sent(schedule, [1], 100 * S)  # the server asked for it again
    assert deadline(schedule) == 130 * S


def test_a_lost_line_sends_at_once_what_was_on_its_way():
    schedule = Schedule(even)
    assert sent(schedule, [1, 2]) == [1, 2]
    schedule.lost()
    assert schedule.in_flight == frozenset()
    assert sent(schedule, [1, 2], 5 * S) == [1, 2]
    assert deadline(schedule) == 35 * S


@given(
    st.lists(
        st.tuples(st.sampled_from(["send", "receive", "lose", "wait"]), st.integers(1, 900)),
        max_size=80,
    ),
    st.integers(1, 5),
)
def test_whatever_happens_every_record_is_sent_until_its_receipt_comes(course, window):
    schedule, waiting, now_ns = Schedule(even, window=window), list(range(1, 9)), 0
    for what, much in course:
        now_ns += much * S
        match what:
            case "send":
                out = sent(schedule, waiting, now_ns)
                assert out == sorted(out)
            case "receive" if schedule.in_flight:
                record = sorted(schedule.in_flight)[much % len(schedule.in_flight)]
                schedule.ended([record])
                waiting.remove(record)
            case "lose":
                schedule.lost()
            case "wait":
                schedule.overdue(now_ns)
        assert len(schedule.in_flight) <= window
        assert schedule.in_flight <= set(waiting)
    for _ in range(8):
        schedule.overdue(now_ns := now_ns + 1000 * S)
        received = sent(schedule, waiting, now_ns)
        schedule.ended(received)
        waiting = [record for record in waiting if record not in received]
    assert waiting == []
