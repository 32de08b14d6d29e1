"""The runs of a calibration: taken at the bench, or read from a file."""

import itertools
import statistics
from collections.abc import Awaitable, Callable, Iterator, Sequence

import click

from ramphold import units
from ramphold.cli._csv_table import CsvRow, read_table
from ramphold.cli._instrument_access import InstrumentAccess
from ramphold.clock import NS_PER_S
from ramphold.control.instrument_methods import READINGS, ReadingsParams
from ramphold.errors import InputError
from ramphold.method.force_points import Run

_LEAST_READINGS = 5
_SETTLE_S = 0.3
#: A reading further from the median than this many times the usual distance is a spike.
_SPIKE = 5.0


def file_runs(path: str, lbf_per_unit: float) -> list[Run]:
    """The runs in a CSV file with `run,force,reading`, a row per reading, in order.

    A force of 0 marks an unloaded reading: the one before the run's first force, or the one after
    its last. Forces after the greatest are falling.

    Raises:
        InputError: the file, or a number in it, is wrong.
    """
    rows = read_table(path, ("run", "force", "reading"))
    by_run = itertools.groupby(rows, key=lambda row: row.text("run"))
    return [_file_run(list(held), lbf_per_unit) for _, held in by_run]


def _file_run(rows: Sequence[CsvRow], lbf_per_unit: float) -> Run:
    taken = [(row.number("force", minimum=0) * lbf_per_unit, row.number("reading")) for row in rows]
    loaded = [index for index, (force, _) in enumerate(taken) if force > 0]
    if not loaded:
        raise rows[0].error("force", "this run has no force above 0: expected at least one")
    before = [reading for _, reading in taken[: loaded[0]]]
    after = [reading for _, reading in taken[loaded[-1] + 1 :]]
    steps = [taken[index] for index in loaded]
    top = max(range(len(steps)), key=lambda index: steps[index][0])
    zero_before = before[-1] if before else 0.0
    return Run(
        rising=tuple(steps[: top + 1]),
        falling=tuple(steps[top + 1 :]),
        zero_before=zero_before,
        zero_after=after[-1] if after else zero_before,
    )


async def walked_runs(
    forces_lbf: Sequence[float],
    runs: int,
    measure: Callable[[], Awaitable[float]],
    *,
    falling: bool,
) -> list[Run]:
    """Guide a person through the runs, and measure at each force.

    Args:
        forces_lbf: forces to apply, rising.
        runs: number of runs.
        measure: reads the load now.
        falling: whether to read on the way down too.
    """
    walked = []
    for number in range(1, runs + 1):
        click.echo(f"run {number} of {runs}", err=True)
        zero_before = await _unloaded(measure)
        rising = [await _step(force_lbf, measure) for force_lbf in forces_lbf]
        down = reversed(forces_lbf[:-1]) if falling else ()
        fell = [await _step(force_lbf, measure) for force_lbf in down]
        walked.append(
            Run(
                rising=tuple(rising),
                falling=tuple(fell),
                zero_before=zero_before,
                zero_after=await _unloaded(measure),
            )
        )
    return walked


async def _unloaded(measure: Callable[[], Awaitable[float]]) -> float:
    click.prompt("  take all load off, then Enter", default="", show_default=False, err=True)
    reading = await measure()
    click.echo(f"  reads {reading:.8g} without a load", err=True)
    return reading


async def _step(force_lbf: float, measure: Callable[[], Awaitable[float]]) -> tuple[float, float]:
    """One step: the force by the reference, and the reading of the load."""
    shown = f"{force_lbf:g}lbf"
    text = click.prompt(
        f"  apply {shown} and hold it; Enter, or the force that the reference shows",
        default=shown,
        show_default=False,
        err=True,
    )
    applied_lbf = units.parse(text, units.FORCE, bare=True)
    reading = await measure()
    click.echo(f"  reads {reading:.8g} at {applied_lbf:g} lbf", err=True)
    return applied_lbf, reading


async def measured(
    here: InstrumentAccess, seconds: float, wait: Callable[[float], Awaitable[None]]
) -> float:
    """Mean uncorrected reading of the load over a time from now on, without spikes.

    Raises:
        InputError: there were too few readings.
    """
    # Readings from before the prompt must arrive first, and a hand must come to rest.
    await wait(_SETTLE_S)
    newest = (await here.ask(READINGS, ReadingsParams(instrument="load", limit=1))).readings
    after_ns = newest[-1].t_ns if newest else 0
    await wait(seconds)
    found = await here.ask(READINGS, ReadingsParams(instrument="load", after_ns=after_ns))
    rows = [row for row in found.readings if row.t_ns <= after_ns + (seconds + 1) * NS_PER_S]
    values = [row.reading for row in rows if row.reading is not None]
    if len(values) < _LEAST_READINGS:
        raise InputError(
            f"the load gave {len(values)} readings in {seconds:g} s: "
            f"expected {_LEAST_READINGS} or more; `ramphold check` says why"
        )
    return statistics.fmean(_without_spikes(values))


def _without_spikes(values: Sequence[float]) -> Iterator[float]:
    middle = statistics.median(values)
    usual = statistics.median(abs(value - middle) for value in values)
    return (value for value in values if abs(value - middle) <= _SPIKE * usual)
