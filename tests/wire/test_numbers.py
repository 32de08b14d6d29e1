from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.units import MASS
from ramphold.wire import parse_number, scaled

# Reference: pint's own definitions of the units, in decimals.
REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
GRAMS = {unit: REGISTRY(unit).to("g").magnitude for unit in ("mg", "kg", "lb")}

# How instruments print: common practice, no source.
PRINTED = [
    (b"+00012.345", (12345, -3)),
    (b" 00254.80", (25480, -2)),
    (b"-0000.012", (-12, -3)),
    (b"    12.345", (12345, -3)),
    (b"-   12.3", (-123, -1)),
    (b"+   12.345    ", (12345, -3)),
    (b"12,345", (12345, -3)),
    (b"0", (0, 0)),
    (b"-0.00", (0, -2)),
    (b"12.", (12, 0)),
    (b".5", (5, -1)),
    (b"012570", (12570, 0)),
    (b"0" * 5000 + b"1", (1, 0)),
    (b"9" * 15, (999_999_999_999_999, 0)),
    (b"." + b"0" * 14 + b"1", (1, -15)),
]


@pytest.mark.parametrize(("text", "expected"), PRINTED)
def test_a_printed_number_gives_its_digits_and_its_power_of_ten(text, expected):
    assert parse_number(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        *(b"", b" ", b"+", b"-", b".", b"--------", b"1 2", b"1.2.3", b"1,234.5", b"+-1", b"1-"),
        *(b"1e3", b"0x1", b"nan", b"inf", b"OL", b"\xb2", "\u0663".encode()),
        *(b"1" * 16, b"." + b"0" * 16),
    ],
)
def test_what_is_no_number_is_none(text):
    assert parse_number(text) is None


@given(
    st.integers(-(10**14), 10**14),
    st.integers(0, 9),
    st.integers(0, 6),
    st.sampled_from([b".", b","]),
)
def test_a_number_printed_in_any_padding_comes_back_as_it_was(digits, places, padding, mark):
    value = Decimal(digits).scaleb(-places)
    text = f"{abs(value):f}".encode().replace(b".", mark)
    sign = b"-" if digits < 0 else b"+"
    for printed in (
        sign + b" " * padding + text,
        b" " * padding + sign + text,
        sign + b"0" * padding + text,
    ):
        assert parse_number(printed) == (digits, -places)


@given(st.binary(max_size=40))
def test_no_text_raises(text):
    number = parse_number(text)
    assert number is None or abs(number[0]) < 10**15


@given(st.integers(-(10**7), 10**7), st.integers(-4, 0))
def test_a_scaled_mass_agrees_with_an_independent_library(digits, exponent):
    printed = Decimal(digits).scaleb(exponent)
    for unit, size_g in GRAMS.items():
        expected = float(printed * size_g)
        assert scaled(digits, exponent, MASS.sizes[unit]) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(
    ("digits", "exponent", "size", "value"),
    [(12, 1, 1.0, 120.0), (5, -1, 4.0, 2.0), (1, -16, 1.0, 1e-16), (7, 0, 1.0, 7.0)],
)
def test_any_power_of_ten_and_any_size_may_be_scaled(digits, exponent, size, value):
    assert scaled(digits, exponent, size) == value


def test_a_milligram_print_is_the_same_number_in_grams_to_the_last_bit():
    assert scaled(39520, 0, MASS.sizes["mg"]) == 39.52


@given(st.integers(-(10**15), 10**15), st.integers(-15, 0))
def test_a_printed_number_is_the_nearest_there_is(digits, exponent):
    assert scaled(digits, exponent) == float(f"{digits}e{exponent}")
