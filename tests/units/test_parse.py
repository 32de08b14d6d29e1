import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.errors import InputError, UnitError
from ramphold.units import DENSITY, FORCE, LENGTH, MASS, RATE, STRESS, TIME, parse


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [
        ("4000psi", STRESS, 4000.0),
        (" 4000 psi ", STRESS, 4000.0),
        ("4e3psi", STRESS, 4000.0),
        ("4ksi", STRESS, 4000.0),
        ("4000PSI", STRESS, 4000.0),
        ("+.5in", LENGTH, 0.5),
        ("2.min", TIME, 120.0),
        ("12566lbf", FORCE, 12566.0),
        ("1.60G/CM3", DENSITY, 1.6),
    ],
)
def test_a_quantity_is_read_as_a_person_writes_it(text, quantity, expected):
    assert parse(text, quantity) == expected


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [("2000", RATE, 2000.0), ("120", TIME, 120.0), ("39.52", MASS, 39.52), ("1kg", MASS, 1000.0)],
)
def test_a_bare_number_is_in_the_base_unit_where_that_is_allowed(text, quantity, expected):
    assert parse(text, quantity, bare=True) == expected


def test_zero_is_taken_where_it_means_something_as_the_stress_of_a_blank():
    assert parse("0psi", STRESS, or_zero=True) == 0.0
    with pytest.raises(UnitError, match="must be a finite stress of at least zero"):
        parse("-1psi", STRESS, or_zero=True)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("4000", "'4000' has no unit: expected a stress such as 4000psi"),
        ("12566lbf", "'12566lbf' is a force: expected a stress"),
        ("2in", "'2in' is a length: expected a stress"),
        ("4000furlong", "'4000furlong' has an unknown unit: expected a stress in psi, ksi"),
        ("much", "'much' is not a stress"),
        ("", "'' is not a stress"),
        ("4,000psi", "has a comma: expected a point"),
        ("4000 psi a", "is not a stress"),
        ("1_000psi", "has an unknown unit"),
        ("0psi", "must be a finite stress above zero"),
        ("-4000psi", "must be a finite stress above zero"),
        ("1e999psi", "must be a finite stress above zero"),
        ("1e-999psi", "must be a finite stress above zero"),
        ("nanpsi", "is not a stress"),
        ("infpsi", "is not a stress"),
    ],
)
def test_what_is_no_stress_is_refused_with_what_was_expected(text, told):
    with pytest.raises(UnitError) as error:
        parse(text, STRESS)

    assert told in str(error.value)


def test_a_bare_number_that_is_none_is_told_the_base_unit():
    with pytest.raises(InputError, match="expected a number in psi/min, or 2000psi/min"):
        parse("fast", RATE, bare=True)


@given(st.text(max_size=20), st.sampled_from([STRESS, LENGTH, DENSITY]), st.booleans())
def test_any_text_gives_a_finite_positive_number_or_a_unit_error(text, quantity, bare):
    value, told = None, ""
    try:
        value = parse(text, quantity, bare=bare)
    except UnitError as error:
        told = str(error)

    assert told or (math.isfinite(value) and value > 0)


@given(st.floats(min_value=1e-6, max_value=1e9))
def test_any_way_a_program_writes_a_number_is_read_back_unchanged(number):
    assert parse(f"{number!r}psi", STRESS) == number
