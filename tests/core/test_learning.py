"""What is learned of press, bed and operator; the simulated press is the reference of the shape."""

import copy
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.core import PacingStart
from ramphold.core._learning import Learned
from ramphold.sim import LeverMove, Press, PressParameters

#: Sag of a stroke by the time it is measured, which the rule allows for.
SAGGED = 1.08


def learned(**start):
    return Learned(PacingStart(**start))


def gains_on_the_way_up():
    """(load, gain of an eighth of a stroke) of a usual simulated press, led up at 2000 psi/min."""
    press = Press(PressParameters(gap_cm3=0.0, breaks_per_s=0.0), random.Random(1))
    press.step(0, LeverMove())
    gains, t_ns, due_psi = [], 0, 250.0
    while due_psi < 12_000:
        t_ns += 100_000_000
        behind_psi = 100 + 2000 / 60 * t_ns / 1e9 - press.stress_psi
        press.lever = 0.0
        press.step(t_ns, LeverMove(travel=min(max(behind_psi / 900, 0.0), 0.1)))
        if press.stress_psi >= due_psi:
            trial = copy.copy(press)
            trial.lever = 0.0
            trial.step(t_ns + 310_000_000, LeverMove(travel=1 / 8))
            gains.append((press.stress_psi, trial.stress_psi - press.stress_psi))
            due_psi *= 1.45
    return gains


def test_the_gain_has_the_shape_of_a_usual_press_over_the_whole_range():
    gains = gains_on_the_way_up()
    ratios = [gain / learned().gain_psi(load) for load, gain in gains]
    assert len(ratios) == 11
    # The press's own gain doubles on the way; one factor takes the shape to within 10 % of it.
    assert max(gain for _, gain in gains) > 1.9 * min(gain for _, gain in gains)
    assert max(ratios) < 1.2 * min(ratios)


def test_a_full_stroke_gains_more_the_higher_the_load():
    gains = [learned().gain_psi(psi) for psi in (100, 250, 1000, 2000, 4000, 8000, 12_000)]
    assert gains == sorted(gains)
    # Recomputed: 1000 / (0.8 + 0.6 / sqrt 4).
    assert learned().gain_psi(4000) == pytest.approx(909.0909)


def test_under_a_hundred_psi_the_gain_is_that_of_a_hundred():
    assert learned().gain_psi(-5000.0) == learned().gain_psi(0.0) == learned().gain_psi(100.0)
    assert learned().gain_psi(100.0) < learned().gain_psi(101.0)


def test_a_press_that_gains_more_from_the_start_is_taken_at_its_word():
    assert learned(gain_factor=1.5).gain_psi(2000) == 1.5 * learned().gain_psi(2000)


@pytest.mark.parametrize("truly", [0.4, 0.7, 1.0, 1.6, 2.5])
def test_the_gain_of_scattered_strokes_is_learned_without_bias(truly):
    rng, model, usual = random.Random(3), learned(), learned()
    seen = []
    for _ in range(300):
        gain_psi = truly * usual.gain_psi(3000) / 8 * rng.gauss(1.0, 0.15)
        model.stroke(1 / 8, 3000.0, 3000.0 + gain_psi / SAGGED)
        seen.append(model.gain_psi(3000) / usual.gain_psi(3000))
    assert sum(seen[100:]) / 200 == pytest.approx(truly, rel=0.04)


def test_the_first_stroke_counts_by_how_little_is_known_and_later_ones_for_a_fifth():
    model, usual = learned(gain_sd=0.5), learned()
    model.stroke(1 / 8, 3000.0, 3000.0 + 2 * usual.gain_psi(3000) / 8 / SAGGED)
    # Of the variances: 0.5^2 against the hand's 0.15^2 + 0.16^2, so 0.84 of the way.
    first = 1 + 0.25 / (0.25 + 0.15**2 + 0.16**2)
    assert model.gain_psi(3000) == pytest.approx(first * usual.gain_psi(3000), rel=1e-6)
    for _ in range(20):
        model.stroke(1 / 8, 3000.0, 3000.0 + model.gain_psi(3000) / 8 / SAGGED)
    before = model.gain_psi(3000)
    model.stroke(1 / 8, 3000.0, 3000.0 + 2 * before / 8 / SAGGED)
    # A hand that was steady for so long surprises by more, and counts for somewhat more.
    assert 1.2 * (1 - 1e-9) <= model.gain_psi(3000) / before < 1.3


def test_a_trial_that_is_sure_of_the_gain_is_moved_less_by_the_first_stroke():
    sure, unsure, usual = learned(gain_sd=0.1), learned(gain_sd=0.5), learned()
    for model in (sure, unsure):
        model.stroke(1 / 8, 3000.0, 3000.0 + 2 * usual.gain_psi(3000) / 8 / SAGGED)
    assert usual.gain_psi(3000) < sure.gain_psi(3000) < unsure.gain_psi(3000)


def test_the_more_strokes_the_surer_the_gain():
    model, usual, rng = learned(), learned(), random.Random(5)
    sds = [model.gain_sd]
    for _ in range(6):
        gain_psi = usual.gain_psi(3000) / 8 * rng.gauss(1.0, 0.2)
        model.stroke(1 / 8, 3000.0, 3000.0 + gain_psi / SAGGED)
        sds.append(model.gain_sd)
    assert sds == sorted(sds, reverse=True)
    assert sds[-1] < 0.15


@pytest.mark.parametrize("truly", [0.5, 1.0, 2.0])
def test_the_largest_plausible_gain_covers_nearly_every_stroke_on_half_or_twice_the_pump(truly):
    rng, usual = random.Random(11), learned()
    over = made = 0
    for _ in range(60):
        model = learned()
        for _ in range(8):
            gain_psi = truly * usual.gain_psi(3000) / 8 * rng.gauss(1.0, 0.17)
            over += gain_psi / SAGGED > model.most_psi(1 / 8, 3000.0)
            made += 1
            model.stroke(1 / 8, 3000.0, 3000.0 + gain_psi / SAGGED)
    assert over / made < 0.02


def test_five_strokes_of_another_operator_are_enough_to_halve_the_error():
    model = learned()
    for _ in range(30):
        model.stroke(1 / 8, 3000.0, 3000.0 + model.gain_psi(3000) / 8 / SAGGED)
    before = model.gain_psi(3000)
    for _ in range(5):
        model.stroke(1 / 8, 3000.0, 3000.0 + 0.5 * before / 8 / SAGGED)
    assert model.gain_psi(3000) < 0.75 * before


@pytest.mark.parametrize(
    ("after_psi", "most"),
    [(3000.0 + 1e6, 1 + 0.35 * 1.5), (-1e6, 1 - 0.35 * 0.6)],
)
def test_one_absurd_stroke_moves_a_settled_gain_by_no_more_than_a_half(after_psi, most):
    model = learned()
    for _ in range(30):
        model.stroke(1 / 8, 3000.0, 3000.0 + model.gain_psi(3000) / 8 / SAGGED)
    before = model.gain_psi(3000)
    model.stroke(1 / 8, 3000.0, after_psi)
    moved = model.gain_psi(3000) / before
    assert min(1.0, most) <= moved <= max(1.0, most)
    assert moved != 1.0


strokes = st.tuples(
    st.sampled_from([1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0]),
    st.floats(-1e6, 1e6),
    st.floats(-1e6, 1e6),
)


@pytest.mark.slow
@given(
    st.lists(strokes, max_size=60),
    st.lists(st.floats(-1e6, 1e6), max_size=20),
    st.lists(st.floats(-1e3, 1e3), max_size=20),
)
def test_nothing_that_is_learned_runs_away(made, sags_psi_s, took_s):
    model = learned()
    for size, before_psi, after_psi in made:
        model.stroke(size, before_psi, after_psi)
    for sag_psi_s in sags_psi_s:
        model.sag(sag_psi_s, 3000.0)
    for answer_s in took_s:
        model.answer(answer_s)
    usual = learned()
    assert model.gain_psi(4000) / usual.gain_psi(4000) >= 0.1 * (1 - 1e-9)
    assert model.gain_psi(4000) / usual.gain_psi(4000) <= 10.0 * (1 + 1e-9)
    # A variance of 0.2 to 4 times the usual.
    assert (model.scatter(1 / 8) / usual.scatter(1 / 8)) ** 2 >= 0.2 * (1 - 1e-9)
    assert (model.scatter(1 / 8) / usual.scatter(1 / 8)) ** 2 <= 4 * (1 + 1e-9)
    assert 0.0 <= model.sag_per_s <= 0.02
    assert 0.05 <= model.delay_s <= 1.1


def test_strokes_without_end_take_the_factor_to_its_bound_and_no_further():
    model = learned()
    for _ in range(100):
        model.stroke(1 / 8, 3000.0, 3000.0 + 1e6)
    assert model.gain_psi(4000) == pytest.approx(10 * learned().gain_psi(4000))
    for _ in range(300):
        model.stroke(1 / 8, 3000.0, 3000.0 - 1e6)
    assert model.gain_psi(4000) == pytest.approx(0.1 * learned().gain_psi(4000))


def test_a_small_stroke_scatters_more_than_a_large_one():
    model = learned()
    # Recomputed: root of 0.15^2 + (0.02 x 16)^2, and of 0.15^2 + 0.02^2.
    assert model.scatter(1 / 16) == pytest.approx(0.35341, rel=1e-4)
    assert model.scatter(1.0) == pytest.approx(0.15133, rel=1e-4)


@pytest.mark.parametrize(
    ("hand", "low", "high"), [(0.3, 0.3, 0.7), (1.0, 0.75, 1.3), (1.7, 1.4, 2)]
)
def test_a_steady_or_an_unsteady_hand_shows_in_the_scatter(hand, low, high):
    rng, model, usual = random.Random(7), learned(), learned()
    seen = []
    for _ in range(200):
        gain_psi = model.gain_psi(3000) / 8 * rng.gauss(1.0, hand * usual.scatter(1 / 8))
        model.stroke(1 / 8, 3000.0, 3000.0 + gain_psi / SAGGED)
        seen.append(model.scatter(1 / 8) / usual.scatter(1 / 8))
    assert low < sum(seen[50:]) / 150 < high


def test_the_sag_of_a_leaking_pump_is_learned_as_a_share_of_the_load():
    model = learned()
    for _ in range(12):
        model.sag(40.0, 4000.0)
    assert model.sag_per_s == pytest.approx(0.01, rel=0.05)


def test_a_load_that_rises_in_its_rest_sags_by_nothing():
    model = learned()
    for _ in range(50):
        model.sag(-500.0, 4000.0)
    assert model.sag_per_s == pytest.approx(0.0, abs=1e-6)


def test_the_delay_of_a_slow_hand_is_learned():
    model = learned(delay_s=0.3)
    for _ in range(20):
        model.answer(0.6)
    assert model.delay_s == pytest.approx(0.6, abs=0.02)


@pytest.mark.parametrize("took_s", [-1.0, 0.0, 0.04, 1.15, 60.0])
def test_an_answer_too_quick_or_too_late_to_be_one_teaches_no_delay(took_s):
    model = learned(delay_s=0.3)
    model.answer(took_s)
    assert model.delay_s == 0.3


@pytest.mark.parametrize(
    ("took_s", "delay_s"),
    [(0.04, 0.3), (0.05, 0.25), (0.8, 0.4), (1.1, 0.46), (1.2, 0.3)],
)
def test_a_fifth_of_an_answer_from_a_twentieth_to_eleven_tenths_of_a_second_is_learned(
    took_s, delay_s
):
    hand = learned(delay_s=0.3)
    hand.answer(took_s)
    assert hand.delay_s == pytest.approx(delay_s)


def test_each_stroke_makes_the_gain_better_known_but_never_as_if_no_bed_could_change():
    hand, known = learned(gain_sd=0.5), []
    for _ in range(40):
        hand.stroke(1.0, 1000.0, 1000.0 + hand.gain_psi(1000.0) / SAGGED)
        known.append(hand.gain_sd)
    assert known == sorted(known, reverse=True)
    # One stroke scatters by 0.15 of itself, and no more can be known from it.
    assert known[0] == pytest.approx(0.15, abs=0.01)
    assert known[-1] == pytest.approx(0.05)
