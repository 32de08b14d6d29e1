"""`ramphold calibrate`: fit the load's readings to applied forces."""

import asyncio
import datetime as dt
import functools
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypedDict, Unpack

import click
from msgspec.structs import replace

from ramphold import units
from ramphold.cli._calibration_result import (
    certificate_of,
    result_of,
    text_of,
)
from ramphold.cli._calibration_runs import file_runs, measured, walked_runs
from ramphold.cli._common import QuantityType, json_option, show, write_new
from ramphold.cli._instrument_access import InstrumentAccess, open_instruments
from ramphold.clock import SystemClock
from ramphold.control.act import NoParams
from ramphold.control.bench_methods import TAKE_CERTIFICATE, TakeCertificateParams
from ramphold.control.instrument_methods import INSTRUMENTS
from ramphold.daemon.certificates import Certificates, today
from ramphold.daemon.config import BenchConfig, load_config
from ramphold.errors import InputError
from ramphold.method.force_calibration import calibrate
from ramphold.method.force_points import Run
from ramphold.wire import Certificate, CertificateFacts

_STEPS, _LOWEST = 5, 0.2
_MOST_RUNS, _MOST_STEPS = 10, 30


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taken:
    """Runs, with the unit and step of their readings."""

    runs: Sequence[Run]
    reading_unit: str
    resolution: float | None


class _CertificateOptions(TypedDict):
    """Options of the certificate; without `name` none is made."""

    name: str | None
    serial: str
    laboratory: str
    reference: str
    instrument: str
    day: dt.datetime | None
    valid_days: int
    by: str
    output: Path | None


def _certificate_options(command: Any) -> Any:  # noqa: ANN401 - click's decorators
    """Add the options of the certificate to a command."""
    day, file = click.DateTime(["%Y-%m-%d"]), click.Path(path_type=Path)
    for option in (
        click.option("--output", type=file, help="Write the certificate here."),
        click.option("--by", default="", metavar="INITIALS", help="Who gives it to the daemon."),
        click.option("--valid-days", type=click.IntRange(1, 3660), default=365, show_default=True),
        click.option("--date", "day", type=day, help="Date; today if left out."),
        click.option("--instrument", default="load channel", help="The calibrated chain."),
        click.option("--reference", default="", help="Reference standard."),
        click.option("--laboratory", default="", help="Laboratory that calibrates."),
        click.option("--serial", default="", help="The sensor's serial number."),
        click.option("--id", "name", help="Write a certificate of this id."),
    ):
        command = option(command)
    return command


@click.command("calibrate")
@click.option("--config", type=click.Path(path_type=Path), help="Configuration of the bench.")
@click.option("--points", help="A CSV file with run,force,reading, instead of the bench.")
@click.option(
    "--unit", type=click.Choice(list(units.FORCE_UNITS)), default="lbf", help="Unit of force."
)
@click.option("--reading-unit", default="lbf", help="Unit of readings in --points: count, lbf, kN.")
@click.option("--force", "forces", multiple=True, type=QuantityType(units.FORCE), help="One step.")
@click.option("--runs", type=click.IntRange(2, _MOST_RUNS), default=3, show_default=True)
@click.option("--falling", is_flag=True, help="Read on the way down too.")
@click.option("--seconds", type=click.FloatRange(0.5, 60), default=3.0, show_default=True)
@click.option(
    "--reference-pct",
    type=click.FloatRange(0, 50),
    required=True,
    help="Expanded uncertainty (k = 2) of the applied forces, in % of them.",
)
@click.option("--resolution", type=click.FloatRange(0), help="Step of the readings.")
@_certificate_options
@json_option
def command(
    *,
    config: Path | None,
    points: str | None,
    unit: str,
    reading_unit: str,
    forces: tuple[float, ...],
    runs: int,
    falling: bool,
    seconds: float,
    reference_pct: float,
    resolution: float | None,
    as_json: bool,
    **options: Unpack[_CertificateOptions],
) -> None:
    """Fit the load's readings to known forces, of dead weights or of a reference force device.

    Guides through the forces at the bench, rising in each run, unloaded before and after, or reads
    them from a file (--points). Fits a straight line, or a quadratic if the line does not fit. With
    --id the result becomes a certificate, which is stored in the bench's folder and in force from
    then on. The exit status is 1 if a force reaches no class.
    """
    bench = load_config(config) if config else None
    if points is not None:
        held = file_runs(points, units.FORCE_UNITS[unit])
        taken = _Taken(runs=held, reading_unit=reading_unit, resolution=None)
    elif bench is not None:
        steps = sorted(forces) or _usual_forces(bench)
        taken = asyncio.run(_walk(bench, steps, runs, seconds, falling=falling))
    else:
        raise InputError("calibrate: expected --config FILE, or --points FILE")
    step = resolution if resolution is not None else taken.resolution
    if step is None:
        raise InputError("calibrate: the step of these readings is unknown: expected --resolution")
    found = calibrate(taken.runs, resolution=step, reference_pct=reference_pct / 2)
    result = result_of(found, unit)
    if options["name"] is not None:
        facts = _facts(options, unit, taken.reading_unit)
        certificate = certificate_of(result, taken.runs, facts)
        file = _keep(certificate, bench, options)
        result = replace(result, certificate=certificate.id, file=file)
    show(result, text_of(result), as_json=as_json)
    raise SystemExit(0 if result.force_class is not None else 1)


def _usual_forces(bench: BenchConfig) -> list[float]:
    """Five forces from a fifth to all of the rating of the weakest part."""
    _, rating_lbf = bench.weakest
    top_lbf = rating_lbf // 1000 * 1000
    return [top_lbf * (_LOWEST + (1 - _LOWEST) * step / (_STEPS - 1)) for step in range(_STEPS)]


async def _walk(
    bench: BenchConfig, forces_lbf: Sequence[float], runs: int, seconds: float, *, falling: bool
) -> _Taken:
    if len(forces_lbf) > _MOST_STEPS:
        raise InputError(f"calibrate: {len(forces_lbf)} forces: expected {_MOST_STEPS} or fewer")
    async with open_instruments(bench) as here:
        if not here.through_daemon:
            await asyncio.sleep(1)
        measure = functools.partial(measured, here, seconds, asyncio.sleep)
        walked = await walked_runs(forces_lbf, runs, measure, falling=falling)
        unit, step = await _readings_of(here)
    return _Taken(runs=walked, reading_unit=unit, resolution=step)


async def _readings_of(here: InstrumentAccess) -> tuple[str, float | None]:
    """Unit and step of the uncorrected readings of the load."""
    found = await here.ask(INSTRUMENTS, NoParams())
    load = next(one for one in found.instruments if one.name == "load")
    return load.reading_unit, load.step


def _facts(options: _CertificateOptions, unit: str, reading_unit: str) -> CertificateFacts:
    """The part of the certificate that is known before the calibration."""
    day = options["day"]
    date = day.date() if day else today(SystemClock().utc_ns())
    return CertificateFacts(
        id=_given("--id", options["name"] or ""),
        instrument=_given("--instrument", options["instrument"]),
        serial=_given("--serial", options["serial"]),
        by=_given("--laboratory", options["laboratory"]),
        reference=_given("--reference", options["reference"]),
        date=date,
        due=date + dt.timedelta(days=options["valid_days"]),
        unit=unit,
        reading_unit=reading_unit,
    )


def _keep(
    certificate: Certificate, bench: BenchConfig | None, options: _CertificateOptions
) -> str | None:
    """Write a certificate to --output or to the bench; returns its file if known."""
    if (output := options["output"]) is not None:
        write_new(output, certificate.text())
        return str(output)
    if bench is None:
        raise InputError("calibrate: expected --output FILE, or --config FILE with [calibration]")
    return asyncio.run(_hand_in(certificate, bench, options["by"]))


async def _hand_in(certificate: Certificate, bench: BenchConfig, by: str) -> str | None:
    folder = bench.calibration.folder if bench.calibration else None
    async with open_instruments(bench) as here:
        if here.through_daemon:
            wanted = TakeCertificateParams(operator=_given("--by", by), text=certificate.text())
            await here.ask(TAKE_CERTIFICATE, wanted)
            return None if folder is None else str(Path(folder) / f"{certificate.id}.toml")
    return str(Certificates(Path(folder) if folder else None).add(certificate))


def _given(option: str, text: str) -> str:
    if not text.strip():
        raise InputError(f"calibrate: a certificate needs {option}")
    return text.strip()
