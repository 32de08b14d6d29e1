"""The mass of proppant that goes into the crush cell."""

from enum import StrEnum

from ramphold import units
from ramphold.method import cell

__all__ = ["ChargeRule", "by_area_g", "by_density_g"]

# From memory: ISO 13503-2:2006 11.5, for the 50.8 mm bore.
_VOLUME_CM3 = 24.7
# From memory: API RP 56 9.3.
_AREAL_LB_FT2 = 4.0
_IN2_PER_FT2 = 144.0


class ChargeRule(StrEnum):
    """How an edition of the standard fixes the charge."""

    BY_DENSITY = "a volume of loose material"
    BY_AREA = "a mass per area of the cell"


def by_density_g(bulk_density_g_cm3: float, bore_in: float = cell.STANDARD_BORE_IN) -> float:
    """Charge in g from the loose bulk density in g/cm3: 24.7 cm3 in a 2 in. bore.

    For another bore the volume goes with the area, so that the bed keeps its height.
    Source: ISO 13503-2:2006 11.5, from memory.
    """
    scale = cell.area_in2(bore_in) / cell.area_in2(cell.STANDARD_BORE_IN)
    return _VOLUME_CM3 * scale * bulk_density_g_cm3


def by_area_g(bore_in: float = cell.STANDARD_BORE_IN) -> float:
    """Charge in g by the rule of 4 lb/ft2 of cell area, whatever the density.

    Source: API RP 56 9.3, from memory.
    """
    return _AREAL_LB_FT2 * units.G_PER_LB * cell.area_in2(bore_in) / _IN2_PER_FT2
