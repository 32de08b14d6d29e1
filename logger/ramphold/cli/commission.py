"""`ramphold commission`: try a press on a steel disc and on sand, as a start for the pacing."""

import asyncio
import functools
import math
from collections.abc import Iterator
from pathlib import Path

import click
from msgspec import Struct

from ramphold import units
from ramphold.cli._common import QuantityType, json_option, show
from ramphold.cli._instrument_access import InstrumentAccess, open_instruments
from ramphold.cli._press_trial import Person, try_press
from ramphold.clock import SystemClock
from ramphold.control.bench_methods import KEEP_TRIAL, KeepTrialParams
from ramphold.control.instrument_methods import READINGS
from ramphold.core import MediumTrial, PressTrial, coarse_below_psi
from ramphold.daemon.config import BenchConfig, load_bench
from ramphold.daemon.trial_file import KeptTrial, TrialFile
from ramphold.demo import SimulatedTrier
from ramphold.errors import InputError
from ramphold.method import cell

_PER_S = 80.0
#: The trial stays below this share of the rating of the weakest part.
_SHARE = 0.8


class CommissionResult(Struct, frozen=True, kw_only=True):
    """The JSON result of the command; `file` is where it is stored."""

    trial: PressTrial
    simulated: bool
    file: str | None = None


@click.command("commission")
@click.option("--config", type=click.Path(path_type=Path), help="Configuration of the bench.")
@click.option("--limit", type=QuantityType(units.STRESS), help="Stress to stay below.")
@click.option("--by", default="", metavar="INITIALS", help="Who does it.")
@click.option("--simulated", is_flag=True, help="On a simulated press; nothing is stored.")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True)
@json_option
def command(
    *,
    config: Path | None,
    limit: float | None,
    by: str,
    simulated: bool,
    seed: int,
    as_json: bool,
) -> None:
    """Guide through a steel disc and a sand bed, best at 80 readings a second.

    Says what a stroke gains and what is lost after it at each load, how even a slow pull is, how
    repeatable part strokes are, how often spikes come, the noise, and whether 10 readings a second
    would do. The result is kept, and the pacing of every run after it starts from it.

    It observes only: your local rules come first, and the press's own limits. Through the daemon
    while it runs.
    """
    if simulated:
        result = CommissionResult(trial=asyncio.run(_simulated(seed)), simulated=True)
    elif config is None:
        raise InputError("commission: expected --config FILE, or --simulated")
    elif not by.strip():
        raise InputError("commission: expected --by INITIALS")
    else:
        result = asyncio.run(_at_bench(load_bench(config), limit, by.strip()))
    show(result, "\n".join(_lines(result)), as_json=as_json)


async def _simulated(seed: int) -> PressTrial:
    async with SimulatedTrier(seed, _PER_S) as trier:
        return await try_press(trier, trier.readings, trier.bore_in, math.inf)


async def _at_bench(bench: BenchConfig, limit_psi: float | None, by: str) -> CommissionResult:
    _, rating_lbf = bench.weakest
    bore_in = float(bench.cell.bore)
    highest_psi = cell.stress_psi(_SHARE * rating_lbf, bore_in)
    limit_psi = min(limit_psi or highest_psi, highest_psi)
    async with open_instruments(bench) as here:
        readings = functools.partial(here.ask, READINGS)
        trial = await try_press(Person(bore_in, limit_psi), readings, bore_in, limit_psi)
        file = await _keep(here, bench, trial, by)
    return CommissionResult(trial=trial, simulated=False, file=file)


async def _keep(here: InstrumentAccess, bench: BenchConfig, trial: PressTrial, by: str) -> str:
    if here.through_daemon:
        return (await here.ask(KEEP_TRIAL, KeepTrialParams(operator=by, trial=trial))).file
    kept = KeptTrial(trial=trial, operator=by, utc_ns=SystemClock().utc_ns())
    return str(TrialFile(Path(bench.store.path)).keep(kept))


def _lines(result: CommissionResult) -> Iterator[str]:
    trial = result.trial
    for one in trial.media:
        yield from _medium_lines(one)
    noise = "" if trial.noise_psi is None else f", noise {trial.noise_psi:.2f} psi"
    yield f"readings   {trial.readings}, {trial.rate_per_s:.1f} a second{noise}"
    yield f"spikes     {trial.spikes_per_1000:.2f} in 1000 readings, {trial.double_spikes} of two"
    if trial.late_psi is not None:
        word = "would do" if trial.ten_would_do else "would not do"
        yield f"10 a second {word}: a slow pull goes {trial.late_psi:.1f} psi on until it is seen"
    if trial.fastest_psi_s is not None:
        yield (
            f"strokes    rise {trial.fastest_psi_s / 10:.0f} psi between two readings at 10 a "
            f"second, {trial.fastest_psi_s / 80:.0f} at 80"
        )
    start = trial.start
    lost_pct = 100 * start.sag_per_s
    yield (
        f"pacing     starts from {start.gain_factor:.3f} of a usual press's gain, "
        f"{start.scatter:.2f} of a usual hand's scatter, {lost_pct:.2f} % lost a second"
    )
    yield f"delay      not measured: starts from {start.delay_s:.1f} s, learned in each run"
    yield (
        f"coarse     below about {round(coarse_below_psi(start), -1):.0f} psi: there one slip of "
        "the lever is over 1 % of the target, and a smaller pump or a finer valve helps"
    )
    for finding in trial.findings:
        yield f"note: {finding}"
    if result.file:
        yield f"kept in {result.file}"


def _medium_lines(one: MediumTrial) -> Iterator[str]:
    yield f"{one.medium}"
    yield f"  {'load psi':>10} {'stroke':>8} {'gain psi':>9} {'lost after 0.5, 1, 3 s, %':>28}"
    for stroke, after in zip(one.strokes, one.relaxations, strict=True):
        lost = (after.lost_pct_05s, after.lost_pct_1s, after.lost_pct_3s)
        shown = " ".join("-".rjust(8) if pct is None else f"{pct:8.2f}" for pct in lost)
        yield (f"  {stroke.before_psi:10.0f} {stroke.size:8g} {stroke.gain_psi:9.0f}  {shown}")
    for size in one.sizes:
        spread = "-" if size.scatter_pct is None else f"{size.scatter_pct:.1f} %"
        share = "-" if size.share is None else f"{size.share:.3f}"
        yield (
            f"  strokes of {size.size:g}: {size.found} of {size.wanted}, gain {share} of a full "
            f"one, scatter {spread}"
        )
    if one.pull is not None:
        pull = one.pull
        yield (
            f"  slow pull: {pull.rate_psi_s:.1f} psi/s over {pull.lasted_s:.1f} s, uneven by "
            f"{pull.uneven_pct:.0f} %, {pull.off_curve_psi:.1f} psi off a smooth curve"
        )
