"""`ramphold weigh`: record the mass on the balance, through the running daemon."""

import click
from msgspec import structs

from ramphold.cli._daemon_client import DaemonClient, by_option, sample_key, with_daemon
from ramphold.control import mass_methods, sample_methods
from ramphold.errors import CommandRefused, InputError
from ramphold.sample import CRUSH, Load, MassTaken, Step, WeighingPlace


@click.command("weigh")
@click.argument("sample", required=False)
@click.option("--test", help="The test it belongs to, such as 'sieve analysis' or 'cylinder'.")
@click.option("--item", help="Which part: number of a sieve, pan, charge, fill, before or after.")
@click.option(
    "--load",
    type=click.Choice([one.value for one in Load]),
    default=Load.NET.value,
    show_default=True,
)
@click.option("--specimen", type=click.IntRange(min=1), help="Its number, with --item alone.")
@click.option("--next", "is_next", is_flag=True, help="Weigh the next step of SAMPLE.")
@click.option(
    "--mass", type=click.FloatRange(min=0), help="Entered in g, not read from the balance."
)
@click.option("--correct", type=click.IntRange(min=1), help="Record number of the wrong mass.")
@click.option("--reason", help="Why it was wrong.")
@click.option("--anyway", help="Why an implausible mass is kept.")
@by_option
@with_daemon
def command(
    *,
    sample: str | None,
    test: str | None,
    item: str | None,
    load: str,
    specimen: int | None,
    is_next: bool,
    mass: float | None,
    correct: int | None,
    reason: str | None,
    anyway: str | None,
    by: str,
    daemon: DaemonClient,
) -> None:
    """Record the mass on the balance; it must be stable, and its place must be empty.

    `ramphold weigh SAMPLE --next` records it as the next step of the sample. A wrong mass is
    replaced with --correct and --reason, and stays in the record.
    """
    if correct is not None:
        if not reason:
            raise InputError("weigh: --correct needs --reason: the report prints why")
        right = mass_methods.CorrectMassParams(
            corrects=correct, mass_g=mass, reason=reason, anyway=anyway, operator=by
        )
        kept = daemon.ask(mass_methods.CORRECT_MASS, right)
    else:
        number = None if sample is None else sample_key(sample)
        place = _next(daemon, number) if is_next else _place(test, item, Load(load), specimen)
        wanted = mass_methods.WeighParams(
            **structs.asdict(place),
            sample=number if place.specimen is None else None,
            mass_g=mass,
            anyway=anyway,
            operator=by,
        )
        kept = daemon.ask(mass_methods.WEIGH, wanted)
    daemon.show(kept, _text(kept))


def _place(test: str | None, item: str | None, load: Load, specimen: int | None) -> WeighingPlace:
    if specimen is not None:
        test = test or CRUSH
    if not test or not item:
        raise InputError("weigh: expected --next, or --test with --item: what is weighed")
    return WeighingPlace(test=test, item=item, load=load, specimen=specimen)


def _next(daemon: DaemonClient, sample: int | str | None) -> WeighingPlace:
    if sample is None:
        raise InputError("weigh: --next needs a SAMPLE")
    sheet = daemon.ask(sample_methods.SAMPLE, sample_methods.SampleParams(sample=sample))
    for step in sheet.next:
        if step.step is Step.WEIGH and step.place is not None:
            return step.place
    raise CommandRefused(f"sample {sample} has nothing to weigh now")


def _text(kept: MassTaken) -> str:
    how = "entered" if kept.line is None else f"from {kept.line.decode('ascii', 'replace')!r}"
    return f"mass {kept.record}: {kept.place}: {kept.mass_g:.3f} g, {how}"
