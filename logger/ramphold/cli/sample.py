"""`ramphold sample`: samples and their worksheet, through the running daemon."""

from collections.abc import Iterator

import click

from ramphold import units
from ramphold.cli._common import CommandGroup, QuantityType
from ramphold.cli._daemon_client import DaemonClient, by_option, sample_key, with_daemon
from ramphold.cli._method_command import method_command
from ramphold.control.act import NoParams
from ramphold.control.choice_methods import CHOOSE_CYLINDER, CHOOSE_INSTRUMENT, CHOOSE_SIEVE
from ramphold.control.sample_methods import (
    ADD_SAMPLE,
    ANSWER_CONTROL,
    CORRECT_SAMPLE,
    ENTER_VALUE,
    NEXT_STRESS,
    PLAN_STRESS,
    REVIEW_SAMPLE,
    SAMPLE,
    SAMPLES,
    NextStress,
    Samples,
)
from ramphold.control.shaker_methods import (
    END_SHAKING,
    SHAKINGS,
    START_SHAKING,
    EndShakingParams,
    StartShakingParams,
)
from ramphold.control.specimen_methods import ADD_SPECIMEN, DECIDE_EXCLUSION, DECIDE_RUN, TICK
from ramphold.errors import CommandRefused, InputError
from ramphold.sample import Role
from ramphold.text import sample_lines


class _GrainsType(click.ParamType[tuple[float, int]]):
    """A value of the chart and how many grains were like it, as in `0.7=12`."""

    name = "grains"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, int]:
        """The value and the count."""
        del param, ctx
        shape, _, count = str(value).partition("=")
        try:
            return float(shape), int(count)
        except ValueError:
            raise InputError(
                f"--grains {value}: expected a chart value and a count, 0.7=12"
            ) from None


def _list_lines(found: Samples) -> Iterator[str]:
    yield f"{'no.':>5}  {'laboratory':<14} {'size':<8} {'material':<13} {'state':<10} client"
    for line in found.samples:
        one = line.sample
        yield (
            f"{one.sample:>5}  {one.laboratory_number:<14} {one.size:<8} {one.material:<13} "
            f"{line.state:<10} {one.client_reference}"
        )


def _next_stress_text(found: NextStress) -> str:
    so_far = f"class so far {found.crush_class or '-'}"
    if found.probability is not None:
        so_far += f", probability {found.probability:.2f}"
    if found.stress_psi is None:
        return f"{so_far}\n{found.reason}"
    return f"{so_far}\nnext {found.stress_psi:.0f} psi, {found.specimens} specimens: {found.reason}"


@click.group("sample", cls=CommandGroup)
def command() -> None:
    """Samples from receipt to review. SAMPLE is a laboratory number, or #7 for the seventh."""


for _one in (
    method_command(
        ADD_SAMPLE,
        "add",
        "laboratory_number",
        options={
            "client_reference": "--client",
            "tests": "--test",
            "sieves_net": "--net",
            "role": click.Option(
                ["--control", "role"],
                flag_value=Role.CONTROL.value,
                help="It is the laboratory's control sand.",
            ),
        },
        text=lambda kept: (
            f"sample {kept.laboratory_number} is number {kept.sample}: {', '.join(kept.tests)}"
        ),
    ),
    method_command(SAMPLES, "list", text=lambda found: "\n".join(_list_lines(found))),
    method_command(
        SAMPLE,
        "show",
        "sample",
        text=lambda found: "\n".join(sample_lines(found.record, found.next)),
        about="A whole sample: what was found, which specimens count, what is next.",
    ),
    method_command(
        CORRECT_SAMPLE,
        "correct",
        "sample",
        "field",
        "value",
        text=lambda kept: f"{kept.field} is now {kept.value}",
        about="Correct a statement about a sample: FIELD is to be VALUE.",
    ),
    method_command(
        PLAN_STRESS,
        "plan",
        "sample",
        "stress_psi",
        text=lambda kept: f"{kept.replicates} specimens at {kept.stress_psi:g} psi",
    ),
    method_command(NEXT_STRESS, "next", "sample", text=_next_stress_text),
    method_command(
        CHOOSE_CYLINDER,
        "cylinder",
        "sample",
        "cylinder",
        text=lambda kept: f"cylinder {kept.cylinder}, {kept.volume_cm3:.3f} cm3",
    ),
    method_command(
        CHOOSE_SIEVE,
        "sieve",
        "sample",
        "use",
        "serial",
        text=lambda kept: f"sieve {kept.serial}, No. {kept.sieve}, {kept.use.which}",
        about="Choose the sieve with SERIAL for a use, from now on.",
    ),
    method_command(
        CHOOSE_INSTRUMENT,
        "instrument",
        "sample",
        "test",
        "instrument",
        text=lambda kept: f"{kept.test} with {kept.instrument}, from now on",
    ),
    method_command(
        ANSWER_CONTROL,
        "answer",
        "sample",
        text=lambda kept: f"answered by {kept.operator}, record {kept.record}",
    ),
    method_command(
        ENTER_VALUE,
        "enter",
        "sample",
        "what",
        "[value]",
        options={
            "values": click.Option(
                ["--determination", "values"],
                multiple=True,
                type=click.FloatRange(min=0),
                help="One of several determinations, whose mean is the result; repeat the option.",
            ),
            "counts": click.Option(
                ["--grains", "counts"],
                multiple=True,
                type=_GrainsType(),
                metavar="VALUE=COUNT",
                help="Grains like a value of the chart; repeat the option.",
            ),
        },
        text=lambda kept: f"{kept.what} is kept as record {kept.record}",
        about="Enter turbidity, clusters, sphericity, roundness or apparent density of a sample.",
    ),
    method_command(
        REVIEW_SAMPLE, "review", "sample", text=lambda kept: f"reviewed by {kept.operator}"
    ),
    method_command(
        ADD_SPECIMEN,
        "specimen",
        "sample",
        "target_psi",
        text=lambda kept: f"specimen {kept.specimen}, {kept.label}, at {kept.target_psi:g} psi",
    ),
    method_command(
        TICK,
        "tick",
        "specimen",
        "what",
        options={
            "done": click.Option(
                ["--undo", "done"], flag_value=False, default=None, help="It was not done."
            )
        },
        text=lambda kept: f"specimen {kept.specimen}: {kept.what}: {'yes' if kept.done else 'no'}",
    ),
    method_command(
        DECIDE_EXCLUSION,
        "leave-out",
        "specimen",
        options={
            "excluded": click.Option(
                ["--take-in", "excluded"], flag_value=False, default=None, help="Take it back in."
            )
        },
        text=lambda kept: (
            f"specimen {kept.specimen} is {'left out' if kept.excluded else 'taken in'}"
        ),
    ),
    method_command(
        DECIDE_RUN,
        "decide",
        "run",
        options={
            "counts": click.Option(["--counts/--does-not-count"], default=None, required=True)
        },
        text=lambda kept: f"run {kept.run} {'counts' if kept.counts else 'does not count'}",
    ),
):
    command.add_command(_one)


@command.command("shake")
@click.argument("sample", required=False)
@click.option("--specimen", type=click.IntRange(min=1), help="After the crush of this one.")
@click.option("--time", type=QuantityType(units.TIME), help="The edition's time by default.")
@click.option("--off", is_flag=True, help="It is taken off the shaker.")
@by_option
@with_daemon
def shake(
    *,
    sample: str | None,
    specimen: int | None,
    time: float | None,
    off: bool,
    by: str,
    daemon: DaemonClient,
) -> None:
    """Start the shaker, for the sieve analysis of SAMPLE or for a specimen."""
    key = None if sample is None else sample_key(sample)
    if off:
        ended = EndShakingParams(shaking=_on_shaker(daemon, key, specimen), operator=by)
        daemon.show(daemon.ask(END_SHAKING, ended), "taken off the shaker")
        return
    wanted = StartShakingParams(sample=key, specimen=specimen, planned_s=time, operator=by)
    kept = daemon.ask(START_SHAKING, wanted)
    daemon.show(kept, f"shaking for {kept.planned_s / 60:g} minutes")


def _on_shaker(daemon: DaemonClient, sample: int | str | None, specimen: int | None) -> int:
    """The record that started what is on the shaker."""
    for one in daemon.ask(SHAKINGS, NoParams()).shakings:
        is_sieving = one.specimen is None and sample in (one.sample, one.laboratory_number)
        if is_sieving if specimen is None else one.specimen == specimen:
            return one.shaking
    raise CommandRefused("that is not on the shaker: `shake` without --off puts it there")
