"""Parts of the sections of `bench.toml`: known keys only, quantities with units."""

import msgspec

from ramphold import units
from ramphold.errors import UnitError


class Lbf(float):
    """A force in lbf, written with its unit."""


class Psi(float):
    """A stress or a pressure in psi, written with its unit."""


class Inches(float):
    """A length in inches, written with its unit."""


class In2(float):
    """An area in in2, written with its unit."""


_QUANTITIES = {Lbf: units.FORCE, Psi: units.STRESS, Inches: units.LENGTH, In2: units.AREA}


class Section(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A section; an unknown key is an error."""


def decode_quantity(kind: type[float], value: object) -> float:
    """A quantity, from its text.

    Raises:
        UnitError: it is no text, or no quantity of that kind.
    """
    quantity = _QUANTITIES[kind]
    if not isinstance(value, str):
        raise UnitError(f"{value!r} has no unit: expected text such as {quantity.example!r}")
    return kind(units.parse(value, quantity))
