"""The masses of the invented sample: what the operator finds at each place of the worksheet."""

import random

from ramphold.demo._simulated_bench import SimulatedBench
from ramphold.sample import CRUSH, DENSITY, SIEVING, Load, WeighingPlace

_BULK_DENSITY_G_CM3 = 1.60
_CYLINDER_G, _WATER_G, _PAN_G = 812.40, 99.83, 112.436
_CHARGE_CM3 = 24.7
#: The cylinder, empty and full of water.
CYLINDER_MASSES_G = {Load.TARE: _CYLINDER_G, Load.GROSS: _CYLINDER_G + _WATER_G}
#: What stays on each sieve of a charge of 100 g.
_HELD_G = {
    "charge": 100.0,
    "16": 0.0,
    "20": 1.2,
    "25": 12.4,
    "30": 27.1,
    "35": 31.8,
    "40": 23.0,
    "50": 3.9,
    "pan": 0.4,
}


class InventedMasses:
    """The mass at each place.

    Args:
        bench: the bench, which weighs out charges and crushes them.
        seed: of what the operator loses between pan and balance.
    """

    def __init__(self, bench: SimulatedBench, seed: int) -> None:
        self._bench = bench
        self._rng = random.Random(seed)  # noqa: S311 - a simulation
        self._charges_g: dict[int, float] = {}
        self._fill_g = self._fines_g = 0.0

    def fill_cylinder(self, volume_cm3: float) -> None:
        """Set the volume of the density cylinder."""
        self._fill_g = round(_BULK_DENSITY_G_CM3 * volume_cm3, 2)

    def mass_g(self, place: WeighingPlace) -> float:
        """The mass at a place, in g."""
        if place.test == SIEVING:
            return _HELD_G.get(place.item, 0.0)
        if place.test == DENSITY:
            return _CYLINDER_G + (0.0 if place.load is Load.TARE else self._fill_g)
        if place.test == CRUSH:
            return self._specimen_mass_g(place)
        return 5.012 if place.item == "before" else 4.953

    def _specimen_mass_g(self, place: WeighingPlace) -> float:
        number = place.specimen or 0
        if place.item == "charge":
            target_g = _CHARGE_CM3 * _BULK_DENSITY_G_CM3
            self._charges_g[number] = self._bench.weighed_out_g(target_g)
            return self._charges_g[number]
        if place.load is Load.TARE:
            return _PAN_G
        charge_g = self._charges_g[number]
        if place.item == "pan":
            self._fines_g = self._bench.crushed_g(charge_g)
            return round(_PAN_G + self._fines_g, 3)
        return round(charge_g - self._fines_g - abs(self._rng.gauss(0.02, 0.01)), 3)
