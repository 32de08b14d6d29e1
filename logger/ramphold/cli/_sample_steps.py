"""The part of `ramphold sample` that writes what was done or decided."""

import click

from ramphold import units
from ramphold.cli._asking import Daemon, asks, by_option, which
from ramphold.cli._common import QuantityType
from ramphold.control import sample_methods, shaker_methods, specimen_methods
from ramphold.control.act import NoParams
from ramphold.control.shaker_methods import END_SHAKING, SHAKINGS, EndShakingParams
from ramphold.errors import CommandRefused, InputError
from ramphold.sample import Tick

__all__ = ["STEPS"]

# A word for each tick, as it is typed.
_TICKS = {
    "cut": Tick.CUT,
    "level": Tick.LEVEL,
    "turned": Tick.TURNED,
    "zeroed": Tick.ZEROED,
}
_reason = click.option("--reason", required=True, help="Why; the report prints it.")


@click.command("correct")
@click.argument("sample")
@click.argument("field")
@click.argument("value")
@_reason
@by_option
@asks
def correct(
    *,
    sample: str,
    field: str,
    value: str,
    reason: str,
    by: str,
    daemon: Daemon,
) -> None:
    """Right a statement about a sample: FIELD is to be VALUE."""
    wanted = sample_methods.CorrectSampleParams(
        sample=which(sample), field=field, value=value, reason=reason, operator=by
    )
    kept = daemon.ask(sample_methods.CORRECT_SAMPLE, wanted)
    daemon.show(kept, f"{kept.field} is now {kept.value}")


@click.command("cylinder")
@click.argument("sample")
@click.argument("cylinder")
@by_option
@asks
def cylinder(
    *,
    sample: str,
    cylinder: str,
    by: str,
    daemon: Daemon,
) -> None:
    """Measure a sample's bulk density with CYLINDER."""
    wanted = sample_methods.ChooseCylinderParams(
        sample=which(sample), cylinder=cylinder, operator=by
    )
    kept = daemon.ask(sample_methods.CHOOSE_CYLINDER, wanted)
    daemon.show(kept, f"cylinder {kept.cylinder}, {kept.volume_cm3:.3f} cm3")


@click.command("tick")
@click.argument("specimen", type=click.IntRange(min=1))
@click.argument("what", type=click.Choice([*_TICKS]))
@click.option("--undo", is_flag=True, help="It was not seen to after all.")
@by_option
@asks
def tick(
    *,
    specimen: int,
    what: str,
    undo: bool,
    by: str,
    daemon: Daemon,
) -> None:
    """Tick what was seen to before the press."""
    wanted = specimen_methods.TickParams(
        specimen=specimen, what=_TICKS[what], done=not undo, operator=by
    )
    kept = daemon.ask(specimen_methods.TICK, wanted)
    text = f"specimen {specimen}: {kept.what}: {'yes' if kept.done else 'no'}"
    daemon.show(kept, text)


@click.command("shake")
@click.argument("sample", required=False)
@click.option("--specimen", type=click.IntRange(min=1), help="After the crush of this one.")
@click.option("--time", type=QuantityType(units.TIME), help="As the edition says where left out.")
@click.option("--off", is_flag=True, help="It was taken off the shaker.")
@by_option
@asks
def shake(
    *,
    sample: str | None,
    specimen: int | None,
    time: float | None,
    off: bool,
    by: str,
    daemon: Daemon,
) -> None:
    """The shaker runs from now: for the sieve analysis of SAMPLE, or for a specimen."""
    if off:
        taken = daemon.ask(END_SHAKING, _on_shaker(daemon, sample, specimen, by))
        daemon.show(taken, "taken off the shaker")
        return
    wanted = shaker_methods.StartShakingParams(
        sample=None if sample is None else which(sample),
        specimen=specimen,
        planned_s=time,
        operator=by,
    )
    kept = daemon.ask(shaker_methods.START_SHAKING, wanted)
    daemon.show(kept, f"shaking for {kept.planned_s / 60:g} minutes")


def _on_shaker(
    daemon: Daemon, sample: str | None, specimen: int | None, by: str
) -> EndShakingParams:
    wanted = None if sample is None else which(sample)
    for one in daemon.ask(SHAKINGS, NoParams()).shakings:
        is_sieving = one.specimen is None and wanted in (one.sample, one.laboratory_number)
        if is_sieving if specimen is None else one.specimen == specimen:
            return EndShakingParams(shaking=one.shaking, operator=by)
    raise CommandRefused("that is not on the shaker: `shake` without --off puts it there")


@click.command("enter")
@click.argument("sample")
@click.argument("what")
@click.argument("value", type=float, required=False)
@click.option("--grains", multiple=True, metavar="VALUE=COUNT", help="Off the chart; repeat it.")
@click.option("--corrects", type=click.IntRange(min=1), help="The record that was wrong.")
@click.option("--reason", help="Why it was wrong.")
@by_option
@asks
def enter(
    *,
    sample: str,
    what: str,
    value: float | None,
    grains: tuple[str, ...],
    corrects: int | None,
    reason: str | None,
    by: str,
    daemon: Daemon,
) -> None:
    """Enter turbidity, clusters, sphericity or roundness of a sample."""
    wanted = sample_methods.EnterValueParams(
        sample=which(sample),
        what=what,
        value=value,
        counts=tuple(_counted(text) for text in grains),
        corrects=corrects,
        reason=reason,
        operator=by,
    )
    kept = daemon.ask(sample_methods.ENTER_VALUE, wanted)
    daemon.show(kept, f"{kept.what} is kept as record {kept.record}")


@click.command("leave-out")
@click.argument("specimen", type=click.IntRange(min=1))
@click.option("--take-in", is_flag=True, help="Take it in again.")
@_reason
@by_option
@asks
def leave_out(
    *,
    specimen: int,
    take_in: bool,
    reason: str,
    by: str,
    daemon: Daemon,
) -> None:
    """Leave SPECIMEN out of the result."""
    wanted = specimen_methods.DecideExclusionParams(
        specimen=specimen, excluded=not take_in, reason=reason, operator=by
    )
    kept = daemon.ask(specimen_methods.DECIDE_EXCLUSION, wanted)
    text = f"specimen {specimen} is {'left out' if kept.excluded else 'taken in'}"
    daemon.show(kept, text)


@click.command("decide")
@click.argument("run", type=click.IntRange(min=1))
@click.option("--counts/--does-not-count", default=None, required=True)
@_reason
@by_option
@asks
def decide(
    *,
    run: int,
    counts: bool,
    reason: str,
    by: str,
    daemon: Daemon,
) -> None:
    """Decide whether RUN counts, whatever its assessment says."""
    wanted = specimen_methods.DecideRunParams(run=run, counts=counts, reason=reason, operator=by)
    kept = daemon.ask(specimen_methods.DECIDE_RUN, wanted)
    daemon.show(kept, f"run {run} {'counts' if kept.counts else 'does not count'}")


@click.command("review")
@click.argument("sample")
@click.option("--remarks", default="")
@by_option
@asks
def review(
    *,
    sample: str,
    remarks: str,
    by: str,
    daemon: Daemon,
) -> None:
    """Say that SAMPLE was looked over, by somebody who wrote nothing of it."""
    wanted = sample_methods.ReviewSampleParams(sample=which(sample), remarks=remarks, operator=by)
    kept = daemon.ask(sample_methods.REVIEW_SAMPLE, wanted)
    daemon.show(kept, f"reviewed by {kept.operator}")


def _counted(text: str) -> tuple[float, int]:
    value, _, count = text.partition("=")
    try:
        return float(value), int(count)
    except ValueError:
        raise InputError(f"--grains {text}: expected a chart value and a count, 0.7=12") from None


STEPS = (correct, cylinder, tick, shake, enter, leave_out, decide, review)
