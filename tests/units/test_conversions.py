"""Our factors against pint, a library of units written by others."""

import pint
import pytest

from ramphold import units

REGISTRY = pint.UnitRegistry()

# How pint spells what it has no name for.
SPELT = {
    "in2": "in**2",
    "mm2": "mm**2",
    "cm2": "cm**2",
    "g/cm3": "g/cm**3",
    "kg/m3": "kg/m**3",
    "pcf": "lb/ft**3",
    "lb/ft3": "lb/ft**3",
}

EVERY_UNIT = [
    pytest.param(quantity, unit, id=f"{quantity.name} in {unit}")
    for quantity in (
        units.STRESS,
        units.FORCE,
        units.LENGTH,
        units.AREA,
        units.MASS,
        units.DENSITY,
        units.RATE,
        units.TIME,
    )
    for unit in quantity.sizes
]


def in_pint(value, unit, base):
    quantity = REGISTRY.Quantity(value, SPELT.get(unit, unit))
    return quantity.to(SPELT.get(base, base)).magnitude


@pytest.mark.parametrize(("quantity", "unit"), EVERY_UNIT)
def test_every_accepted_unit_is_as_big_as_pint_has_it(quantity, unit):
    expected = in_pint(27.58, unit, quantity.base)

    assert units.parse(f"27.58{unit}", quantity) == pytest.approx(expected, rel=1e-12)


def test_kilonewtons_are_as_pint_has_them():
    assert units.kn_from_lbf(12_566.4) == pytest.approx(in_pint(12_566.4, "lbf", "kN"), rel=1e-12)


def test_square_millimetres_are_as_pint_has_them():
    expected = in_pint(3.14, "in**2", "mm**2")

    assert units.mm2_from_in2(3.14) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [
        # recomputed; exact by the definitions of inch, pound and standard gravity
        pytest.param("6.894757293168kPa", units.STRESS, 1.0, id="1 psi in kPa"),
        pytest.param("4.4482216152605N", units.FORCE, 1.0, id="1 lbf in N"),
        pytest.param("50.8mm", units.LENGTH, 2.0, id="the bore of 2 in"),
    ],
)
def test_one_base_unit_is_what_the_definitions_give(text, quantity, expected):
    assert units.parse(text, quantity) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        pytest.param("1pcf", 0.016018463, id="recomputed: 1 pcf"),
        pytest.param("77.2pcf", 1.2366, id="recomputed: 77.2 pcf"),
    ],
)
def test_pounds_a_cubic_foot_are_read_into_grams_a_cubic_centimetre(text, expected):
    assert units.parse(text, units.DENSITY) == pytest.approx(expected, rel=3e-5)
