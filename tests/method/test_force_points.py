import math

import pytest

from ramphold.errors import InputError
from ramphold.method.force_curve import CalibrationCurve
from ramphold.method.force_points import Run, verify

AS_IT_STANDS = CalibrationCurve(c0=0.0, c1=1.0, low_lbf=0.0, high_lbf=10_000.0)
FORCES = (2000.0, 4000.0, 6000.0, 8000.0, 10_000.0)


def a_run(off_pct=0.0, **given):
    return Run(rising=tuple((force, force * (1 + off_pct / 100)) for force in FORCES), **given)


def test_error_and_repeatability_are_mean_and_range_of_the_runs():
    # from memory: ISO 7500-1:2018 6.5: q and b over three runs
    points = verify([a_run(0.3), a_run(0.6), a_run(0.9)], AS_IT_STANDS, resolution=1.0)

    assert [point.applied_lbf for point in points] == list(FORCES)
    for point in points:
        assert point.errors.error_pct == pytest.approx(0.6)
        assert point.errors.repeatability_pct == pytest.approx(0.6)
        assert point.force_class == "1"


def test_resolution_is_a_share_of_each_force():
    # from memory: ISO 7500-1:2018 6.5: a = 100 r / F
    points = verify([a_run(), a_run()], AS_IT_STANDS, resolution=10.0)

    assert [point.errors.resolution_pct for point in points] == pytest.approx(
        [0.5, 0.25, 1 / 6, 0.125, 0.1]
    )
    assert [point.force_class for point in points] == ["1", "0.5", "0.5", "0.5", "0.5"]


def test_what_is_left_at_zero_is_a_share_of_the_whole_range():
    # from memory: ISO 7500-1:2018 6.4: f0 over the full range
    runs = [a_run(zero_after=5.0), a_run(zero_after=-15.0)]

    (first, *_) = verify(runs, AS_IT_STANDS, resolution=1.0)

    assert first.errors.zero_pct == pytest.approx(-0.15)
    assert first.force_class == "2"


def test_readings_count_from_the_zero_of_their_run():
    moved = Run(rising=tuple((f, f + 500.0) for f in FORCES), zero_before=500.0, zero_after=500.0)

    points = verify([moved, a_run()], AS_IT_STANDS, resolution=1.0)

    assert {point.errors.error_pct for point in points} == {0.0}


def test_reversibility_is_what_a_falling_reading_has_over_the_rising_one():
    # from memory: ISO 7500-1:2018 6.5: v at the same force
    falling = ((6000.0, 6060.0), (2000.0, 2010.0))
    points = verify([a_run(), a_run(falling=falling)], AS_IT_STANDS, resolution=1.0)

    assert [point.errors.reversibility_pct for point in points] == [
        *(pytest.approx(0.5), None, pytest.approx(1.0), None, None)
    ]


def test_a_force_that_a_pump_misses_by_a_little_is_judged_by_the_force_that_was_reached():
    near = Run(rising=tuple((force * 1.01, force * 1.01) for force in FORCES))

    points = verify([a_run(), near], AS_IT_STANDS, resolution=1.0)

    assert [point.errors.error_pct for point in points] == pytest.approx([0.0] * 5)
    assert points[0].applied_lbf == pytest.approx(2010.0)


@pytest.mark.parametrize(
    ("runs", "said"),
    [
        ([], "0 runs: expected 2 or more, of 4 forces"),
        ([a_run()], "1 runs: expected 2 or more, of 4 forces"),
        ([Run(rising=a_run().rising[:3])] * 2, "2 runs: expected 2 or more, of 4 forces"),
        ([a_run(), Run(rising=a_run().rising[:4])], "run 2 has other forces than run 1"),
        ([a_run(), Run(rising=a_run().rising[::-1])], "run 2 has other forces .* the same to 2%"),
        ([a_run(), Run(rising=())], "run 2 has other forces than run 1"),
        ([a_run(), a_run(math.nan)], "run 2: expected finite readings"),
        ([a_run(zero_after=math.inf), a_run()], "run 1: expected finite readings"),
        ([a_run(falling=((2000.0, math.nan),)), a_run()], "run 1: expected finite readings"),
        ([Run(rising=((0.0, 0.0), *a_run().rising))] * 2, "run 1: .* at forces above zero"),
    ],
)
def test_runs_that_can_not_be_compared_are_refused(runs, said):
    with pytest.raises(InputError, match=said):
        verify(runs, AS_IT_STANDS, resolution=1.0)
