"""The bench's own book: cylinders, daily checks, wear, the control chart.

Each function serves one method, in the store's thread, at a time in ns UTC.
"""

from dataclasses import asdict

from ramphold.control import sample_methods as methods
from ramphold.control.methods import NoParams
from ramphold.errors import CommandRefused, InputError
from ramphold.method import control_chart as charts
from ramphold.method.daily_check import daily_check, judge
from ramphold.method.density import cylinder_volume_cm3
from ramphold.sample import (
    CYLINDER,
    BenchRecord,
    CylinderCalibrated,
    DailyCheckMade,
    EquipmentChecked,
    net_g,
    standing,
)
from ramphold.store import Store

__all__ = [
    "calibrate_cylinder",
    "check_equipment",
    "control_chart",
    "make_daily_check",
    "record",
]

_LEAST = 2


def record(store: Store, wanted: NoParams, utc_ns: int) -> BenchRecord:
    """Certificates, checks, cylinders, wear, and the laboratory's own spread."""
    del wanted, utc_ns
    return store.bench.record(spread=True)


def calibrate_cylinder(
    store: Store, wanted: methods.CalibrateCylinder, utc_ns: int
) -> CylinderCalibrated:
    """A cylinder's volume by the water that it holds.

    Raises:
        CommandRefused: it was not weighed empty and full since its last calibration.
        InputError: the temperature is out of range.
    """
    masses = standing(store.masses.of_cylinder(wanted.cylinder))
    water_g = net_g(masses, CYLINDER, wanted.cylinder)
    if water_g is None:
        raise CommandRefused(
            f"cylinder {wanted.cylinder}: weigh it empty (tare) and full of water (gross) first"
        )
    return store.records.append(
        CylinderCalibrated(
            operator=wanted.operator,
            utc_ns=utc_ns,
            cylinder=wanted.cylinder,
            water_g=water_g,
            temp_c=wanted.temp_c,
            volume_cm3=cylinder_volume_cm3(water_g, wanted.temp_c),
        )
    )


def make_daily_check(store: Store, wanted: methods.MakeDailyCheck, utc_ns: int) -> DailyCheckMade:
    """Hold an instrument against something known, and keep what came of it.

    Raises:
        InputError: there is no such rule, or a number that can't be.
    """
    found = judge(daily_check(wanted.rule), wanted.measured, wanted.expected, wanted.base)
    return store.records.append(
        DailyCheckMade(operator=wanted.operator, utc_ns=utc_ns, **asdict(found))
    )


def check_equipment(store: Store, wanted: methods.CheckEquipment, utc_ns: int) -> EquipmentChecked:
    """Keep how a cell or a sieve was found.

    Raises:
        InputError: one measure without the other.
    """
    if (wanted.measured is None) != (wanted.nominal is None):
        raise InputError(f"{wanted.name}: expected both its measure and its nominal one, or none")
    return store.records.append(
        EquipmentChecked(
            operator=wanted.operator,
            utc_ns=utc_ns,
            equipment=wanted.equipment,
            name=wanted.name,
            measured=wanted.measured,
            nominal=wanted.nominal,
            finding=wanted.finding,
            usable=wanted.usable,
            new=wanted.new,
        )
    )


def control_chart(
    store: Store, wanted: methods.ControlWanted, utc_ns: int
) -> methods.ControlSeries:
    """The control sand's fines at a stress, told apart by what is asked, with limits."""
    del utc_ns
    asked = {"material", "press", "cell", "operator", "stress_psi"}
    given = {name: getattr(wanted, name) for name in asked}
    points = tuple(
        point
        for point in store.bench.control_points()
        if all(value in (None, getattr(point, name)) for name, value in given.items())
    )
    fines = [point.fines_pct for point in points]
    chart = charts.chart(fines) if len(fines) >= _LEAST else None
    return methods.ControlSeries(
        points=points,
        chart=chart,
        signals=() if chart is None else charts.signals(chart, fines),
    )
