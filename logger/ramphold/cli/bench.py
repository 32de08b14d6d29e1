"""`ramphold bench`: the bench's own book, through the running daemon."""

import click

from ramphold import units
from ramphold.cli._asking import Daemon, asks, by_option
from ramphold.cli._bench_text import bench_lines, control_lines
from ramphold.cli._common import QuantityType
from ramphold.cli._daily import DAILY_COMMANDS
from ramphold.control import bench_methods
from ramphold.control.act import NoParams
from ramphold.method.daily_check import DAILY_CHECKS, CheckVerdict
from ramphold.method.wear import EQUIPMENT
from ramphold.sample import Equipment

__all__ = ["command"]


@click.group("bench")
def command() -> None:
    """Cylinders, daily checks, wear of cells and sieves, and the control sand."""


for _one in DAILY_COMMANDS:
    command.add_command(_one)


@command.command("show")
@asks
def show_bench(*, daemon: Daemon) -> None:
    """Certificates, checks, cylinders, wear, own spread, warnings of the press without a run."""
    found = daemon.ask(bench_methods.BENCH_RECORD, NoParams())
    daemon.show(found, "\n".join(bench_lines(found)))


@command.command("cylinder")
@click.argument("cylinder")
@click.option("--water-at", "temp_c", type=float, required=True, help="Temperature in C.")
@by_option
@asks
def cylinder(
    *,
    cylinder: str,
    temp_c: float,
    by: str,
    daemon: Daemon,
) -> None:
    """Calibrate CYLINDER, weighed empty and full of water before.

    That is `ramphold weigh --test cylinder --item CYLINDER --load tare`, then `--load gross`.
    """
    wanted = bench_methods.CalibrateCylinderParams(cylinder=cylinder, temp_c=temp_c, operator=by)
    kept = daemon.ask(bench_methods.CALIBRATE_CYLINDER, wanted)
    text = f"cylinder {kept.cylinder} holds {kept.volume_cm3:.3f} cm3, record {kept.record}"
    daemon.show(kept, text)


@command.command("daily")
@click.argument("rule", type=click.Choice([check.name for check in DAILY_CHECKS]))
@click.argument("measured", type=float)
@click.argument("expected", type=float)
@click.option("--base", type=float, help="Full range of the load; EXPECTED where left out.")
@by_option
@asks
def daily(
    *,
    rule: str,
    measured: float,
    expected: float,
    base: float | None,
    by: str,
    daemon: Daemon,
) -> None:
    """Hold what an instrument MEASURED against what was EXPECTED. Exit status 1 where it failed."""
    wanted = bench_methods.MakeDailyCheckParams(
        rule=rule, measured=measured, expected=expected, base=base or expected, operator=by
    )
    kept = daemon.ask(bench_methods.MAKE_DAILY_CHECK, wanted)
    daemon.show(kept, f"{kept.rule}: {kept.verdict}, {kept.off_pct:+.3f} % off")
    raise SystemExit(1 if kept.verdict == CheckVerdict.FAILED else 0)


@command.command("equipment")
@click.argument("equipment", type=click.Choice([one.value for one in Equipment]))
@click.argument("name")
@click.option("--finding", required=True, help="What was found.")
@click.option("--measured", type=QuantityType(units.LENGTH), help="Bore, or mean opening.")
@click.option("--nominal", type=QuantityType(units.LENGTH), help="As it was made.")
@click.option("--out-of-use", is_flag=True, help="It is used no more.")
@click.option("--new", is_flag=True, help="It is a new one, whose uses count from here.")
@by_option
@asks
def equipment(
    *,
    equipment: str,
    name: str,
    finding: str,
    measured: float | None,
    nominal: float | None,
    out_of_use: bool,
    new: bool,
    by: str,
    daemon: Daemon,
) -> None:
    """Keep how the cell or sieve NAME was found."""
    kind = EQUIPMENT[Equipment(equipment)]
    wanted = bench_methods.CheckEquipmentParams(
        equipment=Equipment(equipment),
        name=name,
        finding=finding,
        measured=kind.in_unit(measured),
        nominal=kind.in_unit(nominal),
        usable=not out_of_use,
        new=new,
        operator=by,
    )
    kept = daemon.ask(bench_methods.CHECK_EQUIPMENT, wanted)
    daemon.show(kept, f"{kept.equipment} {kept.name}: {kept.finding}")


@command.command("control")
@click.argument("stress", type=QuantityType(units.STRESS))
@click.option("--material", help="What the control sand is called.")
@click.option("--press")
@click.option("--cell")
@click.option("--operator")
@asks
def control(
    *,
    stress: float,
    material: str | None,
    press: str | None,
    cell: str | None,
    operator: str | None,
    daemon: Daemon,
) -> None:
    """The control sand's fines at STRESS, against their limits.

    Exit status 1 where a rule speaks.
    """
    wanted = bench_methods.ControlChartParams(
        stress_psi=stress, material=material, press=press, cell=cell, operator=operator
    )
    found = daemon.ask(bench_methods.CONTROL_CHART, wanted)
    daemon.show(found, "\n".join(control_lines(found)))
    raise SystemExit(1 if found.signals else 0)
