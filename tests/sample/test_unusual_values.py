"""Which unusual values of the configuration were in use, now and while something was done."""

import pytest

from ramphold.sample import UnusualValueKept, unusual_between, unusual_now


def kept(utc_ns, key="load.span", value="9 V", *, in_use=True):
    return UnusualValueKept(
        operator="KL", utc_ns=utc_ns, key=key, value=value, reason="x", in_use=in_use
    )


RECORDS = (
    kept(10),
    kept(20, value="8 V"),
    kept(30, key="press.bore"),
    kept(40, key="press.bore", in_use=False),
)


def test_the_newest_word_on_each_key_says_whether_it_is_in_use():
    assert unusual_now(RECORDS) == (RECORDS[1],)
    assert unusual_now(RECORDS[:3]) == (RECORDS[1], RECORDS[2])


@pytest.mark.parametrize(
    ("since_ns", "until_ns", "found"),
    [
        (0, 9, []),
        (0, 10, [0]),
        (10, 19, [0]),  # kept at its very start
        (11, 20, [0, 1]),  # changed on the way: both were in use
        (20, 29, [1]),
        (25, 30, [1, 2]),
        (30, 39, [1, 2]),
        (35, 40, [1, 2]),
        (40, 99, [1]),
    ],
)
def test_between_two_times_those_count_that_stood_at_the_first_or_came_by_the_second(
    since_ns, until_ns, found
):
    assert unusual_between(RECORDS, since_ns, until_ns) == tuple(RECORDS[one] for one in found)
