"""`ramphold sample`: samples and their worksheet, through the running daemon."""

from collections.abc import Iterator

import click

from ramphold import units
from ramphold.cli._asking import Daemon, asks, by_option, which
from ramphold.cli._common import QuantityType
from ramphold.cli._sample_steps import STEPS
from ramphold.control import act, sample_methods, specimen_methods
from ramphold.method.gravimetric import Material
from ramphold.sample import Role
from ramphold.text import sample_lines

__all__ = ["command"]

_STRESS = QuantityType(units.STRESS)


@click.group("sample")
def command() -> None:
    """Samples from receipt to review. SAMPLE is a laboratory number, or #7 for the seventh."""


for _step in STEPS:
    command.add_command(_step)


@command.command("add")
@click.argument("laboratory_number")
@click.option("--client", required=True, help="What the client calls it.")
@click.option("--size", required=True, help="The size that it claims, such as 20/40.")
@click.option(
    "--material", type=click.Choice([one.value for one in Material]), default=Material.SAND.value
)
@click.option("--edition", help="Edition of the standard; the bench's own where left out.")
@click.option("--use", help="fracturing or gravel pack; the bench's own where left out.")
@click.option("--test", "tests", multiple=True, help="A test asked for, in order; repeat it.")
@click.option("--control", is_flag=True, help="It is the laboratory's control sand.")
@click.option("--net", is_flag=True, help="Sieves are weighed as net masses.")
@click.option("--mass-balance", is_flag=True, help="What the sieve retains is weighed too.")
@click.option("--remarks", default="")
@by_option
@asks
def add(
    *,
    laboratory_number: str,
    client: str,
    size: str,
    material: str,
    edition: str | None,
    use: str | None,
    tests: tuple[str, ...],
    control: bool,
    net: bool,
    mass_balance: bool,
    remarks: str,
    by: str,
    daemon: Daemon,
) -> None:
    """Receive a sample under LABORATORY_NUMBER."""
    wanted = sample_methods.AddSampleParams(
        laboratory_number=laboratory_number,
        client_reference=client,
        size=size,
        material=Material(material),
        edition=edition,
        use=use,
        role=Role.CONTROL if control else Role.CLIENT,
        tests=tests or None,
        remarks=remarks,
        sieves_net=net,
        mass_balance=mass_balance,
        operator=by,
    )
    kept = daemon.ask(sample_methods.ADD_SAMPLE, wanted)
    text = f"sample {kept.laboratory_number} is number {kept.sample}: {', '.join(kept.tests)}"
    daemon.show(kept, text)


@command.command("list")
@asks
def list_samples(*, daemon: Daemon) -> None:
    """The newest samples, and where each stands."""
    found = daemon.ask(sample_methods.SAMPLES, act.PageParams())
    daemon.show(found, "\n".join(_list_lines(found)))


@command.command("show")
@click.argument("sample")
@asks
def show_sample(*, sample: str, daemon: Daemon) -> None:
    """A whole sample: what was found, which specimens count, what is next."""
    found = daemon.ask(sample_methods.SAMPLE, sample_methods.SampleParams(sample=which(sample)))
    daemon.show(found, "\n".join(sample_lines(found.record, found.next)))


@command.command("plan")
@click.argument("sample")
@click.argument("stress", type=_STRESS)
@click.option("--replicates", type=click.IntRange(min=0, max=50), default=3, show_default=True)
@by_option
@asks
def plan(
    *,
    sample: str,
    stress: float,
    replicates: int,
    by: str,
    daemon: Daemon,
) -> None:
    """Plan specimens at STRESS; none takes it off the plan."""
    wanted = sample_methods.PlanStressParams(
        sample=which(sample), stress_psi=stress, replicates=replicates, operator=by
    )
    kept = daemon.ask(sample_methods.PLAN_STRESS, wanted)
    daemon.show(kept, f"{kept.replicates} specimens at {kept.stress_psi:g} psi")


@command.command("next")
@click.argument("sample")
@asks
def next_stress(*, sample: str, daemon: Daemon) -> None:
    """Which stress tells most about the class, and why."""
    wanted = sample_methods.SampleParams(sample=which(sample))
    found = daemon.ask(sample_methods.NEXT_STRESS, wanted)
    daemon.show(found, _next_stress_text(found))


@command.command("specimen")
@click.argument("sample")
@click.argument("stress", type=_STRESS)
@click.option("--label", required=True, help="What the laboratory calls it.")
@click.option("--bore", default="2in", type=QuantityType(units.LENGTH), show_default=True)
@click.option("--cell", default="", help="Which cell, for its wear.")
@by_option
@asks
def specimen(
    *,
    sample: str,
    stress: float,
    label: str,
    bore: float,
    cell: str,
    by: str,
    daemon: Daemon,
) -> None:
    """Record a specimen to be crushed at STRESS."""
    wanted = specimen_methods.AddSpecimenParams(
        sample=which(sample),
        label=label,
        target_psi=stress,
        bore_in=bore,
        cell=cell,
        operator=by,
    )
    kept = daemon.ask(specimen_methods.ADD_SPECIMEN, wanted)
    daemon.show(kept, f"specimen {kept.specimen}, {kept.label}, at {kept.target_psi:g} psi")


def _list_lines(found: sample_methods.Samples) -> Iterator[str]:
    yield f"{'no.':>5}  {'laboratory':<14} {'size':<8} {'material':<13} {'state':<10} client"
    for line in found.samples:
        one = line.sample
        yield (
            f"{one.sample:>5}  {one.laboratory_number:<14} {one.size:<8} {one.material:<13} "
            f"{line.state:<10} {one.client_reference}"
        )


def _next_stress_text(found: sample_methods.NextStress) -> str:
    so_far = f"class so far {found.crush_class or '-'}"
    if found.probability is not None:
        so_far += f", probability {found.probability:.2f}"
    if found.stress_psi is None:
        return f"{so_far}\n{found.reason}"
    return f"{so_far}\nnext {found.stress_psi:.0f} psi, {found.specimens} specimens: {found.reason}"
