"""The mass of proppant that goes into the crush cell, and the mass of one grain of it."""

import math

from ramphold import units
from ramphold.method import cell
from ramphold.method.gravimetric import Material

#: Apparent density of a grain in g/cm3 if none was measured, from memory: quartz, quartz with a
#: thin resin coat, a light ceramic. Common practice, no source.
APPARENT_DENSITY_G_CM3 = {
    Material.SAND: 2.65,
    Material.RESIN_COATED: 2.55,
    Material.CERAMIC: 2.71,
}

#: From memory: ISO 13503-2:2006 11.5, for the 50.8 mm bore.
VOLUME_CM3 = 24.7
#: From memory: API RP 56 9.3.
AREAL_LB_FT2 = 4.0
_IN2_PER_FT2 = 144.0


def by_density_g(
    bulk_density_g_cm3: float,
    bore_in: float = cell.STANDARD_BORE_IN,
    volume_cm3: float = VOLUME_CM3,
) -> float:
    """The charge in g from the loose bulk density in g/cm3: a volume for a 2 in bore.

    For another bore the volume scales with the area, so that the bed height stays the same.
    Source: ISO 13503-2:2006 11.5, from memory.
    """
    scale = cell.area_in2(bore_in) / cell.area_in2(cell.STANDARD_BORE_IN)
    return volume_cm3 * scale * bulk_density_g_cm3


def by_area_g(bore_in: float = cell.STANDARD_BORE_IN, areal_lb_ft2: float = AREAL_LB_FT2) -> float:
    """The charge in g by a mass per cell area in lb/ft2, at any density.

    Source: API RP 56 9.3, from memory.
    """
    return areal_lb_ft2 * units.G_PER_LB * cell.area_in2(bore_in) / _IN2_PER_FT2


def grain_mg(diameter_mm: float, apparent_density_g_cm3: float) -> float:
    """The mass in mg of a spherical grain from its diameter in mm and apparent density in g/cm3."""
    # 1 g/cm3 is 1 mg/mm3.
    return math.pi / 6 * diameter_mm**3 * apparent_density_g_cm3
