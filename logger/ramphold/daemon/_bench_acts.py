"""Acts on the bench itself whose record holds more than their parameters.

Each function serves one act, in the store's thread, at a time in ns UTC.
"""

from dataclasses import asdict

from ramphold.control.bench_methods import (
    CALIBRATE_CYLINDER,
    MAKE_DAILY_CHECK,
    CalibrateCylinderParams,
    MakeDailyCheckParams,
)
from ramphold.daemon._ledger import keep
from ramphold.errors import CommandRefused
from ramphold.method.daily_check import daily_check, judge
from ramphold.method.density import cylinder_volume_cm3
from ramphold.sample import CYLINDER, CylinderCalibrated, DailyCheckMade, net_g, standing
from ramphold.store import Store


def calibrate_cylinder(
    store: Store, params: CalibrateCylinderParams, utc_ns: int
) -> CylinderCalibrated:
    """Work out the volume of a cylinder from the water that it holds.

    Raises:
        CommandRefused: it was not weighed empty and full since its last calibration.
        InputError: the temperature is out of range.
    """
    masses = standing(store.masses.of_cylinder(params.cylinder))
    water_g = net_g(masses, CYLINDER, params.cylinder)
    if water_g is None:
        raise CommandRefused(
            f"cylinder {params.cylinder}: weigh it empty (tare) and full of water (gross) first"
        )
    volume_cm3 = cylinder_volume_cm3(water_g, params.temp_c)
    return keep(store, CALIBRATE_CYLINDER, params, utc_ns, water_g=water_g, volume_cm3=volume_cm3)


def make_daily_check(store: Store, params: MakeDailyCheckParams, utc_ns: int) -> DailyCheckMade:
    """Check an instrument against a known value, which is the base where none is given.

    Raises:
        InputError: there is no such rule, or a number that can't be right.
    """
    base = params.expected if params.base is None else params.base
    found = judge(daily_check(params.rule), params.measured, params.expected, base)
    return keep(store, MAKE_DAILY_CHECK, params, utc_ns, **asdict(found))
