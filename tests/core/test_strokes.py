import pytest

from ramphold.core._strokes import Rises


def trace(*pieces, per_s=10):
    """(t_s, psi) along straight pieces of (lasting s, to psi), from 1000 psi at 0 s."""
    t_s, psi, points = 0.0, 1000.0, []
    for lasting_s, to_psi in pieces:
        steps = round(lasting_s * per_s)
        points += [(t_s + i / per_s, psi + (to_psi - psi) * i / steps) for i in range(steps)]
        t_s, psi = t_s + lasting_s, to_psi
    return points


def rises_in(points):
    rises = Rises()
    found = [rises.feed(round(t_s * 1e9), psi) for t_s, psi in points]
    return [rise for rise in found if rise is not None]


@pytest.mark.parametrize("per_s", [10, 80])
def test_each_stroke_is_found_once_with_the_load_before_and_after(per_s):
    points = trace((2, 990), (0.4, 1110), (3, 1080), (0.4, 1200), (3, 1170), per_s=per_s)
    first, second = rises_in(points)
    assert first.before_psi == pytest.approx(990, abs=2)
    assert first.after_psi == pytest.approx(1110, abs=4)
    assert first.start_ns == pytest.approx(2.0e9, abs=0.11e9)
    assert first.lasted_s == pytest.approx(0.4, abs=0.11)
    assert second.after_psi - second.before_psi == pytest.approx(120, abs=4)


@pytest.mark.parametrize("per_s", [10, 80])
def test_a_stroke_that_catches_a_falling_load_is_found_once(per_s):
    (rise,) = rises_in(trace((2, 1000), (0.3, 900), (0.4, 1010), (3, 980), per_s=per_s))
    assert rise.before_psi == pytest.approx(900, abs=2)
    assert rise.after_psi == pytest.approx(1010, abs=4)


def test_the_sag_between_two_strokes_is_measured_once_it_has_settled():
    points = trace((2, 1000), (0.4, 1110), (0.3, 1100), (3, 1085), (0.4, 1200), (2, 1190))
    assert rises_in(points)[1].sagged_psi_s == pytest.approx(5.0, rel=0.1)


def test_a_sagging_load_with_noise_is_no_stroke():
    noise = [0.0, 1.5, -1.2, 0.7, -0.4]
    points = [(t, psi + noise[i % 5]) for i, (t, psi) in enumerate(trace((30, 950)))]
    assert rises_in(points) == []


def test_a_slow_pull_is_one_long_rise():
    (rise,) = rises_in(trace((2, 1000), (10, 1333), (2, 1310)))
    assert rise.lasted_s == pytest.approx(10.0, abs=0.3)


def test_a_rise_that_reaches_into_a_gap_is_forgotten():
    before = trace((2, 1000), (0.2, 1080))
    after = [(t_s + 5.0, psi + 400.0) for t_s, psi in trace((3, 990))]
    assert rises_in(before + after) == []
