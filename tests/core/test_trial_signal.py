"""What a trial's pull, spikes, rate and fastest rise come to, worked out apart."""

import numpy as np
import pytest

from ramphold.core._trial_signal import fastest, pull, rate, spikes

S = 10**9


def loads(psi_at, last_s, per_s=10, start_ns=0):
    return [
        (start_ns + round(n * S / per_s), psi_at(n / per_s)) for n in range(round(last_s * per_s))
    ]


def test_an_even_pull_has_its_rate_and_lies_on_a_line():
    found = pull(loads(lambda t_s: 200.0 + 30.0 * t_s, 9.0))
    assert (found.lasted_s, found.rate_psi_s) == (9, pytest.approx(30.0))
    assert found.uneven_pct == pytest.approx(0.0, abs=1e-6)
    assert found.off_curve_psi == pytest.approx(0.0, abs=1e-6)


def test_what_bends_as_a_bed_does_is_on_the_curve_and_what_bends_otherwise_is_off_it():
    bent = pull(loads(lambda t_s: 200.0 + 30.0 * t_s + 2.0 * t_s**2, 8.0))
    assert bent.off_curve_psi == pytest.approx(0.0, abs=1e-6)
    seen = loads(lambda t_s: 200.0 + 30.0 * t_s + 0.5 * t_s**3, 8.0)
    t_s, psi = np.array([t_ns / S for t_ns, _ in seen]), np.array([psi for _, psi in seen])
    # By numpy's least squares: the deviations from the best parabola.
    off_psi = psi - np.polyval(np.polyfit(t_s, psi, 2), t_s)
    assert pull(seen).off_curve_psi == pytest.approx(np.sqrt(np.mean(off_psi**2)))


def test_the_scatter_of_the_seconds_is_in_percent_of_their_mean():
    # Seconds of 20 and of 40 psi by turns: a standard deviation of 10 about 30.
    seen, psi = [], 200.0
    for second in range(8):
        rise_psi = (20, 40)[second % 2]
        seen += [(second * S + n * S // 10, psi + rise_psi * n / 9) for n in range(10)]
        psi += rise_psi
    assert pull(seen).uneven_pct == pytest.approx(100 * 10 / 30, rel=0.01)


def test_of_two_pulls_the_longer_one_counts_and_of_too_short_ones_none():
    first = loads(lambda t_s: 200.0 + 30.0 * t_s, 6.0)
    rest = loads(lambda _: 380.0, 2.0, start_ns=6 * S)
    second = loads(lambda t_s: 380.0 + 50.0 * t_s, 9.0, start_ns=8 * S)
    assert (pull(first).lasted_s, pull(first + rest + second).lasted_s) == (6, 9)
    assert pull(first[:40]) is None
    assert pull([]) is None


def test_readings_a_second_count_the_steps_between_them():
    seen = loads(lambda _: 200.0, 3.0, per_s=80)
    assert rate([seen, seen[:1]]) == pytest.approx(80.0)
    assert rate([seen[:1]]) == rate([]) == 0.0


def test_the_fastest_rise_is_over_a_tenth_of_a_second():
    steady = fastest([loads(lambda t_s: 200.0 + 120.0 * t_s, 3.0, per_s=80)])
    assert steady == pytest.approx(120.0)
    assert fastest([]) is None


@pytest.mark.parametrize(("count", "found"), [(8, None), (9, 120.0)])
def test_a_rise_seen_over_half_a_tenth_of_a_second_or_less_has_no_speed(count, found):
    seen = loads(lambda t_s: 200.0 + 120.0 * t_s, 3.0, per_s=80)[:count]
    assert fastest([seen]) == (None if found is None else pytest.approx(found))


def test_spikes_of_one_reading_and_of_two_are_told_apart():
    seen = loads(lambda _: 2000.0, 6.0)
    for at in (20, 40, 41):
        seen[at] = (seen[at][0], 60_000.0)
    assert spikes([seen]) == (1, 1)
    assert spikes([loads(lambda _: 2000.0, 6.0)]) == (0, 0)
