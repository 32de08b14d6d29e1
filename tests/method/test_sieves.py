from itertools import pairwise

import pytest

from ramphold.errors import InputError
from ramphold.method import sieves
from ramphold.method.editions import EDITIONS, find_size

# published: ASTM E11 Table 1, as transcribed in the library `fluids` (ASTM E11 sieves.csv); the
# same openings in its ISO 3310-1 R40/3
OPENINGS = [
    *((4, 4.75), (5, 4.00), (6, 3.35), (7, 2.80), (8, 2.36), (10, 2.00), (12, 1.70)),
    *((14, 1.40), (16, 1.18), (18, 1.00), (20, 0.850), (25, 0.710), (30, 0.600), (35, 0.500)),
    *((40, 0.425), (45, 0.355), (50, 0.300), (60, 0.250), (70, 0.212), (80, 0.180)),
    *((100, 0.150), (120, 0.125), (140, 0.106), (170, 0.090), (200, 0.075), (230, 0.063)),
    *((270, 0.053), (325, 0.045)),
]

# from memory: ISO 13503-2:2006 Table 1 / API STD 19C
STACKS = {
    "6/12": (4, 6, 8, 10, 12, 14, 16),
    "8/16": (6, 8, 10, 12, 14, 16, 20),
    "12/18": (8, 12, 14, 16, 18, 20, 30),
    "12/20": (8, 12, 14, 16, 18, 20, 30),
    "16/20": (12, 16, 18, 20, 25, 30, 40),
    "16/30": (12, 16, 18, 20, 25, 30, 40),
    "20/40": (16, 20, 25, 30, 35, 40, 50),
    "30/50": (20, 30, 35, 40, 45, 50, 70),
    "40/60": (30, 40, 45, 50, 60, 70, 100),
    "40/70": (30, 40, 45, 50, 60, 70, 100),
    "70/140": (50, 70, 80, 100, 120, 140, 200),
}


def test_the_openings_are_those_of_astm_e11():
    assert list(sieves.OPENINGS_MM.items()) == OPENINGS


def test_the_openings_follow_the_series_of_preferred_numbers():
    # R40/3: each opening is 10^(3/40) of the next, within the rounding of the standard's figures
    for (_, coarser_mm), (_, finer_mm) in pairwise(sieves.OPENINGS_MM.items()):
        assert coarser_mm / finer_mm == pytest.approx(10 ** (3 / 40), rel=0.025)


def test_the_stacks_are_those_of_the_standard():
    for name in EDITIONS:
        assert {size: one.sieves for size, one in EDITIONS[name].stack.items()} == STACKS


@pytest.mark.parametrize("name", STACKS)
def test_a_stack_has_seven_sieves_from_coarse_to_fine_and_both_that_name_the_size(name):
    size = find_size(name)
    openings = [sieves.opening_mm(sieve) for sieve in size.stack]

    assert len(size.stack) == 7
    assert openings == sorted(openings, reverse=True)
    assert {size.coarse, size.fine} <= set(size.stack[1:-1])
    assert name == f"{size.coarse}/{size.fine}"


@pytest.mark.parametrize("name", ["20-40", "40/20", "100M", "", "0/0"])
def test_an_unknown_size_is_refused_with_those_there_are(name):
    with pytest.raises(InputError, match="is no size of proppant: expected one of 6/12, 8/16"):
        find_size(name)


@pytest.mark.parametrize(
    ("name", "stack"),
    [
        ("40/140", (30, 40, 50, 70, 100, 140, 200)),
        ("50/140", (40, 50, 70, 100, 140, 200)),
        ("30/70", (20, 30, 40, 50, 70, 100)),
        ("100/200", (70, 100, 120, 140, 170, 200, 270)),
        ("4/8", (4, 5, 6, 7, 8, 12)),
        ("200/325", (140, 200, 230, 270, 325)),
    ],
)
def test_a_pair_that_the_standard_does_not_name_has_a_stack_by_rule(name, stack):
    size = find_size(name)
    assert (size.name, size.stack) == (name, stack)


@pytest.mark.parametrize("coarse", sieves.OPENINGS_MM)
@pytest.mark.parametrize("fine", sieves.OPENINGS_MM)
def test_any_pair_the_coarser_first_is_a_size_and_no_other(coarse, fine):
    if sieves.opening_mm(coarse) <= sieves.opening_mm(fine):
        with pytest.raises(InputError):
            find_size(f"{coarse}/{fine}")
        return
    size = find_size(f"{coarse}/{fine}")
    openings = [sieves.opening_mm(sieve) for sieve in size.stack]
    assert openings == sorted(set(openings), reverse=True)
    assert {coarse, fine} <= set(size.stack)
    assert 3 <= len(size.stack) <= 16


@pytest.mark.parametrize("name", ["8/16", "16/30", "20/40", "30/50", "40/70", "70/140"])
def test_the_rule_gives_the_standards_own_stack(name):
    assert sieves.size_of(name, {}).stack == STACKS[name]


@pytest.mark.parametrize(
    ("text", "sieve"), [("20", 20), (" 140 ", 140), ("pan", sieves.PAN), ("Pan", sieves.PAN)]
)
def test_a_sieve_is_read_from_its_number_or_pan(text, sieve):
    assert sieves.read_sieve(text) == sieve


@pytest.mark.parametrize("text", ["21", "0", "-20", "20.0", "020", "No. 20", "lid", "", "²"])
def test_what_is_no_sieve_is_refused_with_those_there_are(text):
    with pytest.raises(InputError, match=r"is no sieve: expected a US number such as 40, or pan"):
        sieves.read_sieve(text)


def test_the_pan_lets_nothing_through():
    assert sieves.opening_mm(sieves.PAN) == 0.0


def test_a_number_that_no_sieve_has_is_refused():
    with pytest.raises(InputError, match=r"there is no sieve No\. 21"):
        sieves.opening_mm(21)
