"""Exact conversion factors, and quantities as text (`4000psi`, `50.8 mm`).

Each quantity has one base unit, that of the trade, and the name of every variable ends in it:
stress in psi, force in lbf, length in inches, mass in grams, density in g/cm3, rate in psi/min,
time in seconds.
"""

import math
import re
from dataclasses import dataclass

from ramphold.errors import UnitError

# Exact by definition: the international inch and pound, and standard gravity.
MM_PER_IN = 25.4
G_PER_LB = 453.59237
N_PER_KGF = 9.80665
N_PER_LBF = G_PER_LB / 1000 * N_PER_KGF  # 4.4482216152605
PA_PER_PSI = N_PER_LBF / (MM_PER_IN / 1000) ** 2  # 6894.757293168...
G_CM3_PER_PCF = G_PER_LB / (12 * MM_PER_IN / 10) ** 3  # 0.016018463...


@dataclass(frozen=True, slots=True)
class Quantity:
    """A kind of quantity: name, base unit, and the size of each accepted unit in base units."""

    name: str
    base: str
    sizes: dict[str, float]
    example: str


STRESS = Quantity(
    "stress",
    "psi",
    {
        "psi": 1.0,
        "ksi": 1000.0,
        "Pa": 1 / PA_PER_PSI,
        "kPa": 1e3 / PA_PER_PSI,
        "MPa": 1e6 / PA_PER_PSI,
        "bar": 1e5 / PA_PER_PSI,
    },
    "4000psi or 27.58MPa",
)
FORCE = Quantity(
    "force",
    "lbf",
    {
        "lbf": 1.0,
        "N": 1 / N_PER_LBF,
        "kN": 1e3 / N_PER_LBF,
        "kgf": N_PER_KGF / N_PER_LBF,
    },
    "12566lbf or 55.9kN",
)
LENGTH = Quantity(
    "length", "in", {"in": 1.0, "mm": 1 / MM_PER_IN, "cm": 10 / MM_PER_IN}, "2in or 50.8mm"
)
AREA = Quantity(
    "piston area",
    "in2",
    {"in2": 1.0, "mm2": 1 / MM_PER_IN**2, "cm2": 100 / MM_PER_IN**2},
    "5.16in2",
)
MASS = Quantity("mass", "g", {"g": 1.0, "mg": 1e-3, "kg": 1e3, "lb": G_PER_LB}, "39.52g")
DENSITY = Quantity(
    "density",
    "g/cm3",
    {"g/cm3": 1.0, "g/cc": 1.0, "kg/m3": 1e-3, "pcf": G_CM3_PER_PCF, "lb/ft3": G_CM3_PER_PCF},
    "1.60g/cm3 or 100pcf",
)
RATE = Quantity(
    "stress rate",
    "psi/min",
    {"psi/min": 1.0, "psi/s": 60.0, "MPa/min": 1e6 / PA_PER_PSI},
    "2000psi/min or 13.8MPa/min",
)
TIME = Quantity("time", "s", {"s": 1.0, "min": 60.0, "h": 3600.0}, "120s or 2min")

_ALL = (STRESS, FORCE, LENGTH, AREA, MASS, DENSITY, RATE, TIME)
#: Size in lbf of each unit that a load indicator may print.
FORCE_UNITS = FORCE.sizes

_TEXT = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*((?![,.\d])\S*)\s*", re.ASCII)


def parse(text: str, quantity: Quantity, *, bare: bool = False, or_zero: bool = False) -> float:
    """Parse a positive quantity such as `4000psi`, and return it in the base unit.

    Args:
        text: a number and a unit; the case of the unit is free if it is unambiguous.
        quantity: the expected kind of quantity.
        bare: whether a number without a unit is accepted, in the base unit.
        or_zero: whether zero is accepted too, as the stress of a blank.

    Raises:
        UnitError: the text is no number, not finite or too small, or its unit is missing,
            unknown, or of another quantity.
    """
    match = _TEXT.fullmatch(text)
    if match is None and _TEXT.fullmatch(text.replace(",", ".", 1)):
        raise UnitError(
            f"{text!r} has a comma: expected a point and no other mark in the number, as in "
            f"{quantity.example}"
        )
    if match is None:
        raise UnitError(
            f"{text!r} is not a {quantity.name}: expected {_expected(quantity, bare=bare)}"
        )
    number, unit = float(match[1]), match[2]
    if not unit and not bare:
        raise UnitError(
            f"{text!r} has no unit: expected a {quantity.name} such as {quantity.example}"
        )
    value = number * (_size(text, unit, quantity) if unit else 1.0)
    if not math.isfinite(value) or value < 0 or (value == 0 and not or_zero):
        least = "of at least zero" if or_zero else "above zero"
        raise UnitError(f"{text!r} must be a finite {quantity.name} {least}")
    return value


def kn_from_lbf(force_lbf: float) -> float:
    """A force in kN from lbf."""
    return force_lbf * N_PER_LBF / 1000


def mm2_from_in2(area_in2: float) -> float:
    """An area in mm2 from in2."""
    return area_in2 * MM_PER_IN**2


def _expected(quantity: Quantity, *, bare: bool) -> str:
    return f"a number in {quantity.base}, or {quantity.example}" if bare else quantity.example


def _size(text: str, unit: str, quantity: Quantity) -> float:
    for name, size in quantity.sizes.items():
        if unit == name:
            return size
    folded = [size for name, size in quantity.sizes.items() if name.lower() == unit.lower()]
    if len(folded) == 1:
        return folded[0]
    for other in _ALL:
        if other is not quantity and unit in other.sizes:
            raise UnitError(
                f"{text!r} is a {other.name}: expected a {quantity.name} such as {quantity.example}"
            )
    known = ", ".join(quantity.sizes)
    raise UnitError(f"{text!r} has an unknown unit: expected a {quantity.name} in {known}")
