"""Noise told from a moving signal, against numpy's own scatter of the noise that was put in."""

import random

import numpy as np
import pytest

from ramphold.core import noise_sd
from ramphold.core._noise import NoiseLevel


@pytest.mark.parametrize("slope", [0.0, 5.0, -40.0])
def test_the_noise_of_a_steady_ramp_is_that_of_its_scatter(slope):
    noise = np.random.default_rng(1).normal(0, 0.45, 4000)
    ramp = 1000 + slope * np.arange(4000) + noise
    assert noise_sd(list(ramp)) == pytest.approx(noise.std(), rel=0.05)


def test_a_spike_now_and_then_changes_little():
    noise = np.random.default_rng(2).normal(0, 0.45, 4000)
    noise[::200] += 30_000
    assert noise_sd(list(noise)) == pytest.approx(0.45, rel=0.06)


def test_a_steady_signal_has_none_and_too_few_values_tell_nothing():
    assert noise_sd([7.0] * 5) == 0.0
    assert noise_sd([1.0, 2.0, 1.0, 2.0]) is None


@pytest.mark.parametrize("off_psi", [95.0, -95.0])
def test_a_pair_of_false_readings_every_four_seconds_is_no_noise(off_psi):
    level, rng = NoiseLevel(), random.Random(3)
    for tenth in range(1200):
        false_psi = off_psi if tenth % 40 < 2 else 0.0
        level.feed(false_psi + rng.gauss(0.0, 0.3))
    assert level.sd < 1.0


def test_noise_that_has_just_begun_is_known_within_three_seconds():
    level, rng = NoiseLevel(), random.Random(3)
    for _ in range(600):
        level.feed(rng.gauss(0.0, 0.1))
    before = level.sd
    for _ in range(30):
        level.feed(rng.gauss(0.0, 2.0))
    assert level.sd > 4 * before
