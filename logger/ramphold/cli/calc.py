"""`ramphold calc`: the arithmetic of the trade, without a bench."""

import click

from ramphold import units
from ramphold.cli._common import CommandGroup, QuantityType, json_option, show
from ramphold.cli._csv_table import read_table
from ramphold.errors import InputError
from ramphold.method import cell, charge, crush_class, limits, sieves, sieving
from ramphold.method.crush_class import CrushClass
from ramphold.method.editions import (
    CURRENT,
    EDITIONS,
    edition_sha256,
    find_edition,
    find_size,
    packaged_text,
)
from ramphold.method.sieves import Size
from ramphold.method.sieving import SieveAnalysis

_DENSEST_G_CM3 = 10.0


def _bore(ctx: click.Context, param: click.Parameter, value: float) -> float:
    del ctx, param
    if fault := cell.bore_fault(value):
        raise InputError(fault)
    return value


def _density(ctx: click.Context, param: click.Parameter, value: float) -> float:
    del ctx, param
    if value > _DENSEST_G_CM3:
        raise InputError(
            f"a bulk density of {value:g} g/cm3 is no proppant's: "
            f"expected {_DENSEST_G_CM3:g} g/cm3 or less, or the right unit after it"
        )
    return value


_bore_option = click.option(
    "--bore",
    type=QuantityType(units.LENGTH),
    default=f"{cell.STANDARD_BORE_IN:g}in",
    show_default=True,
    callback=_bore,
    help="Bore of the crush cell.",
)
_file_argument = click.argument("file")


@click.group(cls=CommandGroup)
def command() -> None:
    """Arithmetic of the trade: cell, charge, sieve analysis, crush class."""


@command.command()
@click.option(
    "--stress", type=QuantityType(units.STRESS), required=True, help="Stress on the proppant."
)
@_bore_option
@json_option
def force(*, stress: float, bore: float, as_json: bool) -> None:
    """The force for a stress, and the ceiling to stay under."""
    if limits.over(stress, cell.DEFAULT_RATING_PSI):
        raise InputError(
            f"a stress of {stress:g} psi is over the rating: "
            f"expected {cell.DEFAULT_RATING_PSI:g} psi or less"
        )
    area_in2 = cell.area_in2(bore)
    force_lbf = cell.force_lbf(stress, bore)
    ceiling_lbf = cell.default_ceiling_lbf(force_lbf, cell.force_lbf(cell.DEFAULT_RATING_PSI, bore))
    result = {
        "area_in2": area_in2,
        "area_mm2": units.mm2_from_in2(area_in2),
        "force_lbf": force_lbf,
        "force_kn": units.kn_from_lbf(force_lbf),
        "ceiling_lbf": ceiling_lbf,
    }
    lines = [
        f"area     {area_in2:.4f} in2   {result['area_mm2']:.1f} mm2",
        f"force    {force_lbf:.1f} lbf   {result['force_kn']:.3f} kN",
        f"ceiling  {ceiling_lbf:.0f} lbf   stay under it",
    ]
    show(result, "\n".join(lines), as_json=as_json)


@command.command(name="charge")
@click.option(
    "--bulk-density",
    type=QuantityType(units.DENSITY, bare=True),
    required=True,
    callback=_density,
    help="Loose bulk density; a bare number is in g/cm3.",
)
@_bore_option
@json_option
def charge_command(*, bulk_density: float, bore: float, as_json: bool) -> None:
    """The mass to weigh into the crush cell."""
    charge_g = charge.by_density_g(bulk_density, bore)
    show({"charge_g": charge_g}, f"charge  {charge_g:.3f} g", as_json=as_json)


@command.command()
@click.argument("name")
@json_option
def edition(*, name: str, as_json: bool) -> None:
    """The file of the edition NAME: every figure with its source.

    A laboratory that tests by other figures changes a copy, and names it in `[worksheet] edition`.
    """
    text = packaged_text(find_edition(name).name)
    show({"text": text, "sha256": edition_sha256(text)}, text.rstrip(), as_json=as_json)


@command.command(name="sieve")
@click.option("--size", "size_name", required=True, help="Size claimed, such as 20/40.")
@click.option(
    "--charge-g",
    type=QuantityType(units.MASS, bare=True),
    help="Mass put on the stack; a bare number is in g.",
)
@_file_argument
@json_option
def sieve_command(*, size_name: str, charge_g: float | None, file: str, as_json: bool) -> None:
    """Analyse the sieving in FILE (CSV `sieve,mass_g`; a sieve is a US number or `pan`).

    The exit status is 1 if it does not conform to the size.
    """
    size = find_size(size_name)
    masses_g = _read_sieving(file)
    try:
        allowed = EDITIONS[CURRENT].sieving["fracturing"]
        analysis = sieving.analyse(masses_g, size, allowed=allowed, charge_g=charge_g)
    except InputError as error:
        raise InputError(f"{file}: {error}") from None
    show(analysis, _sieving_text(analysis, size), as_json=as_json)
    if not analysis.conforms:
        raise SystemExit(1)


@command.command(name="class")
@_file_argument
@json_option
def class_command(*, file: str, as_json: bool) -> None:
    """The crush class from FILE (CSV `stress_psi,fines_pct`, a row per specimen)."""
    specimens = [
        (
            row.number("stress_psi", above=0, maximum=cell.DEFAULT_RATING_PSI),
            row.number("fines_pct", minimum=0, maximum=100),
        )
        for row in read_table(file, ("stress_psi", "fines_pct"))
    ]
    result = crush_class.classify(specimens)
    show(result, _class_text(result), as_json=as_json)


def _read_sieving(file: str) -> dict[int, float]:
    masses_g: dict[int, float] = {}
    for row in read_table(file, ("sieve", "mass_g")):
        text = row.text("sieve")
        try:
            sieve = sieves.read_sieve(text)
        except InputError as error:
            raise row.error("sieve", str(error)) from None
        if sieve in masses_g:
            raise row.error("sieve", f"{text!r} is here twice: expected it once")
        masses_g[sieve] = row.number("mass_g", minimum=0, maximum=sieving.MOST_G)
    return masses_g


def _sieving_text(analysis: SieveAnalysis, size: Size) -> str:
    rows: list[tuple[str, str]] = [
        ("in size", f"{analysis.in_size_pct:7.2f} %    {size.name}"),
        ("oversize", f"{analysis.oversize_pct:7.2f} %    on No. {size.stack[0]}"),
        ("undersize", f"{analysis.undersize_pct:7.2f} %    through No. {size.stack[-1]}"),
        ("loss", _value(analysis.loss_pct, "7.2f", " %    of the charge")),
        ("mean", _value(analysis.mean_mm, "7.4f", " mm   without coarsest fraction and pan")),
        ("median", _value(analysis.median_mm, "7.4f", " mm   linear in the opening")),
    ]
    lines = [f"{name:10}{text}" for name, text in rows]
    lines.append(f"{'conforms' if analysis.conforms else 'does not conform'} to {size.name}")
    return "\n".join([*lines, *_finding_lines(analysis.findings)])


def _class_text(result: CrushClass) -> str:
    lines = [f"stress psi    n   mean %     sd %  {limits.FINES_PCT:g} % fines"]
    for point in result.points:
        sd = _value(point.sd_pct, "7.2f", "")
        word = "over" if limits.over(point.mean_pct, limits.FINES_PCT) else "within"
        lines.append(f"{point.stress_psi:10g} {point.n:4d}  {point.mean_pct:7.2f}  {sd}  {word}")
    if result.highest_stress_psi is None:
        lines.append("no crush class")
    else:
        lines.append(
            f"crush class {result.crush_class or 'none'}: up to {result.highest_stress_psi:g} psi "
            f"the mean fines are within {limits.FINES_PCT:g} %"
        )
    return "\n".join([*lines, *_finding_lines(result.findings)])


def _finding_lines(findings: tuple[str, ...]) -> list[str]:
    return [f"- {finding}" for finding in findings]


def _value(value: float | None, form: str, unit: str) -> str:
    return f"{'-':>7}" if value is None else f"{value:{form}}{unit}"
