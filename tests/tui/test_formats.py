import math

import pytest

from ramphold_tui.view import formats


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (999.4, "999"),
        (12566.4, "12 566"),
        (-1234.0, "-1 234"),
        (-0.4, "0"),
        (1234567.0, "1 234 567"),
        (None, "--"),
        (math.nan, "--"),
        (math.inf, "--"),
    ],
)
def test_numbers_have_a_gap_between_thousands(value, text):
    assert formats.grouped(value) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0.0, "0.0 s"), (3.24, "3.2 s"), (42.4, "42 s"), (600.0, "10 min"), (7200.0, "2 h")],
)
def test_an_age_is_as_exact_as_it_needs_to_be(seconds, text):
    assert formats.age(seconds) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(120.0, "120 s"), (0.2, "1 s"), (0.0, "0 s"), (-3.0, "0 s"), (600.0, "10:00 min")],
)
def test_a_countdown_shows_its_last_second_until_that_is_over(seconds, text):
    assert formats.countdown(seconds) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(12.4, "12 psi ahead"), (-1250.0, "1 250 psi behind"), (0.4, "on the line")],
)
def test_a_difference_is_said_in_words(value, text):
    words = {"over": "ahead", "under": "behind", "none": "on the line"}
    assert formats.signed_gap(value, "psi", **words) == text


def test_a_mass_is_shown_to_the_milligram():
    assert formats.mass(39.52) == "39.520"
    assert formats.mass(None) == "--"
