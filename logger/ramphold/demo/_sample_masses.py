"""The masses of the invented sample: what the operator finds at each place of the worksheet."""

import random
from typing import Protocol

from ramphold.control.simulated_methods import LoadBalanceParams, OnBalance
from ramphold.sample import CRUSH, CYLINDER, DENSITY, SIEVING, Load, WeighingPlace

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


_PINCH_G, _SIEVE_G = 0.01, 98.4


class Crusher(Protocol):
    """Weighs out charges, and crushes them."""

    def weighed_out_g(self, target_g: float) -> float:
        """A charge as an operator weighs it out, in g."""

    def crushed_g(self, charge_g: float) -> float:
        """The part of a charge that passes the lower sieve after the crush, in g."""


class InventedMasses:
    """The mass at each place.

    Args:
        bench: the bench, which weighs out charges and crushes them.
        seed: of what the operator loses between pan and balance.
    """

    def __init__(self, bench: Crusher, seed: int) -> None:
        self._bench = bench
        self._rng = random.Random(seed)  # noqa: S311 - a simulation
        self._charges_g: dict[int, float] = {}
        self._fines_g = 0.0
        self.fill_cylinder(_WATER_G)

    def fill_cylinder(self, volume_cm3: float) -> None:
        """Set the volume of the density cylinder."""
        self._fill_g = round(_BULK_DENSITY_G_CM3 * volume_cm3, 2)

    def mass_g(self, place: WeighingPlace, target_g: float | None = None) -> float:
        """The mass at a place, in g; a charge is poured to `target_g`."""
        if place.test == CYLINDER:
            return CYLINDER_MASSES_G[place.load]
        if place.test == SIEVING:
            held_g = 0.0 if place.load is Load.TARE else _HELD_G.get(place.item, 0.0)
            return held_g + (0.0 if place.load is Load.NET else _SIEVE_G)
        if place.test == DENSITY:
            return _CYLINDER_G + (0.0 if place.load is Load.TARE else self._fill_g)
        if place.test == CRUSH:
            return self._specimen_mass_g(place, target_g or _CHARGE_CM3 * _BULK_DENSITY_G_CM3)
        return 5.012 if place.item == "before" else 4.953

    def _specimen_mass_g(self, place: WeighingPlace, target_g: float) -> float:
        number = place.specimen or 0
        if place.item == "charge":
            self._charges_g[number] = self._bench.weighed_out_g(target_g)
            return self._charges_g[number]
        if place.load is Load.TARE:
            return _PAN_G
        charge_g = self._charges_g.get(number, target_g)
        if place.item == "pan":
            self._fines_g = self._bench.crushed_g(charge_g)
            return round(_PAN_G + self._fines_g, 3)
        return round(charge_g - self._fines_g - abs(self._rng.gauss(0.02, 0.01)), 3)

    def loaded_g(self, present_g: float, wanted: LoadBalanceParams) -> float:
        """What is on the balance after a hand did something to it, in g."""
        if wanted.act is OnBalance.PUT:
            place = WeighingPlace(
                test=wanted.test, item=wanted.item, load=wanted.load, specimen=wanted.specimen
            )
            return self.mass_g(place, wanted.target_g)
        if wanted.act is OnBalance.CLEAR:
            return 0.0
        pinch_g = _PINCH_G if wanted.act is OnBalance.MORE else -_PINCH_G
        return max(round(present_g + pinch_g, 3), 0.0)
