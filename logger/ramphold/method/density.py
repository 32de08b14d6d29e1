"""Loose bulk density, in a cylinder whose volume was measured with water."""

import math

from ramphold.errors import InputError

# Pure air-free water at one atmosphere; Tanaka et al. 2001, Metrologia 38, 301, the CIPM formula as
# public libraries have it. Temperatures in C, density in g/cm3.
_DENSEST_C, _A2, _A3, _A4, _MOST_G_CM3 = 3.983035, 301.797, 522528.9, 69.34881, 0.999974950
_FROM_C, _TO_C = 0.0, 40.0

# Balances are adjusted with weights of 8 g/cm3 in air of 1.2 kg/m3 (OIML D 28, from memory).
_WEIGHTS_G_CM3, _AIR_G_CM3 = 8.0, 0.0012


def water_density_g_cm3(temp_c: float) -> float:
    """Density of pure water in g/cm3 at a temperature in C, 0 to 40.

    Raises:
        InputError: the temperature is out of range.
    """
    if not _FROM_C <= temp_c <= _TO_C:
        raise InputError(f"water at {temp_c:g} C: expected {_FROM_C:g} to {_TO_C:g} C")
    away = temp_c - _DENSEST_C
    return _MOST_G_CM3 * (1 - away**2 * (temp_c + _A2) / (_A3 * (temp_c + _A4)))


def cylinder_volume_cm3(water_g: float, temp_c: float) -> float:
    """Volume in cm3 of a cylinder that holds a net mass of water in g, weighed in air.

    Air buoyancy is corrected (0.1 %), for the conventional weights and air of a balance. Use the
    cylinder near the temperature at which it was filled: brass expands by 0.006 % per degree.

    Raises:
        InputError: the mass is not above zero, or the temperature out of range.
    """
    _above_zero(water_g, "the water weighs", "g")
    buoyancy = (1 - _AIR_G_CM3 / _WEIGHTS_G_CM3) / (water_density_g_cm3(temp_c) - _AIR_G_CM3)
    return water_g * buoyancy


def bulk_density_g_cm3(net_g: float, volume_cm3: float) -> float:
    """Loose bulk density in g/cm3: net mass in g, struck level, over the cylinder's volume.

    Source: ISO 13503-2:2006 clause 10, from memory; the air between the grains is not corrected.

    Raises:
        InputError: a mass or a volume that is not above zero.
    """
    _above_zero(net_g, "the proppant weighs", "g")
    _above_zero(volume_cm3, "the cylinder holds", "cm3")
    return net_g / volume_cm3


def _above_zero(value: float, what: str, unit: str) -> None:
    if not math.isfinite(value) or value <= 0:
        raise InputError(f"{what} {value:g} {unit}: expected a number above zero")
