"""A port that misbehaves for minutes of accelerated time; `make bench-faults` takes an hour."""

from support.rough_port import faults, listened


def test_unplugs_floods_half_lines_and_rubbish_cost_no_line_but_those_that_they_touch():
    assert list(faults(*listened(120))) == []
