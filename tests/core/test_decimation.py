"""Few points of a long trace, with every spike that it has."""

import itertools
import math

from hypothesis import given
from hypothesis import strategies as st

from ramphold.core.decimation import decimated


def thinned(t_s, values, columns):
    return decimated(t_s, values, columns=columns)


values = st.lists(
    st.floats(min_value=-1e6, max_value=1e6) | st.just(math.nan), min_size=1, max_size=300
)


@given(values, st.integers(1, 40))
def test_every_column_keeps_its_least_and_its_greatest_value(stress, columns):
    t_s = [step / 10 for step in range(len(stress))]
    drawn = {point for line in thinned(t_s, stress, columns) for point in line}
    assert drawn <= set(zip(t_s, stress, strict=True))
    per_s = columns / (t_s[-1] - t_s[0]) if len(t_s) > 1 else 0.0
    held = {}
    for t, value in zip(t_s, stress, strict=True):
        if not math.isnan(value):
            held.setdefault(int(t * per_s), []).append(value)
    kept = [value for _, value in drawn]
    for column in held.values():
        assert min(column) in kept
        assert max(column) in kept


@given(values, st.integers(1, 40))
def test_a_value_that_is_none_breaks_the_line_and_time_never_goes_back(stress, columns):
    t_s = [step / 10 for step in range(len(stress))]
    lines = thinned(t_s, stress, columns)
    nowhere = [t for t, value in zip(t_s, stress, strict=True) if math.isnan(value)]
    for line in lines:
        times = [t for t, _ in line]
        assert times == sorted(times)
        assert not [t for t in nowhere if times[0] < t < times[-1]]


def test_a_trace_of_an_hour_at_80_a_second_has_no_more_than_two_points_a_column():
    t_s = [step / 80 for step in range(80 * 3600)]
    (line,) = thinned(t_s, [math.sin(t) for t in t_s], 560)
    assert len(line) <= 2 * 561


def test_what_is_before_and_after_a_value_that_is_none_are_two_lines():
    nan = math.nan
    values = [nan, 1.0, nan, nan, 2.0, 3.0, nan]
    assert thinned([0, 1, 2, 3, 4, 5, 6], values, 100) == [[(1, 1.0)], [(4, 2.0), (5, 3.0)]]


def test_a_trace_without_readings_is_no_line():
    assert thinned([], [], 5) == []


def plain(t_s, values, columns):
    """The same, value by value."""
    span = t_s[-1] - t_s[0]
    per_s = columns / span if span > 0 else 0.0
    lines, line, column = [], [], {}
    for t, value in [*zip(t_s, values, strict=True), (math.nan, math.nan)]:
        at = None if math.isnan(value) else int((t - t_s[0]) * per_s)
        if column and at != column["at"]:
            line += sorted({column["low"], column["high"]})
            column = {}
        if at is None:
            lines += [line] if line else []
            line = []
        elif not column:
            column = {"at": at, "low": (t, value), "high": (t, value)}
        elif value < column["low"][1]:
            column["low"] = (t, value)
        elif value > column["high"][1]:
            column["high"] = (t, value)
    return lines


@given(values, st.integers(1, 40), st.data())
def test_the_points_are_those_of_a_plain_loop(stress, columns, data):
    steps = data.draw(st.lists(st.integers(1, 10**9), min_size=len(stress), max_size=len(stress)))
    t_s = [t_ns / 1e9 for t_ns in itertools.accumulate(steps)]
    assert thinned(t_s, stress, columns) == plain(t_s, stress, columns)
