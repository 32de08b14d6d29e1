"""`ramphold practise`: three runs with cues and three without, by the user's own hand."""

import asyncio
import contextlib
import functools
import random
import signal
import sys
import tempfile
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import click
import msgspec
from msgspec import structs

from ramphold import units
from ramphold.cli._common import QuantityType, json_option
from ramphold.cli._instrument_access import open_instruments
from ramphold.cli._practice_files import PracticeFiles
from ramphold.clock import SystemClock
from ramphold.control.instrument_methods import READINGS
from ramphold.daemon.config import BenchConfig, load_config
from ramphold.demo import Exercise, ForceLever, SimulatedBench, drawn_order, practise_once
from ramphold.errors import InputError
from ramphold.report.practice import (
    LEVER_BRIEF,
    LEVER_SHOWS,
    LEVER_USE,
    Lever,
    Practice,
    PracticeRun,
    practice_lines,
)


@click.command("practise")
@click.option("--by", "person", required=True, metavar="INITIALS", help="Who practises.")
@click.option("--target", type=QuantityType(units.STRESS), default="4000psi", show_default=True)
@click.option(
    "--lever",
    type=click.Choice([lever.value for lever in Lever]),
    default=Lever.KEY.value,
    show_default=True,
)
@click.option(
    "--config", type=click.Path(path_type=Path), help="Whose load is the lever, with --lever load."
)
@click.option(
    "--full-force",
    type=QuantityType(units.FORCE),
    default="20lbf",
    show_default=True,
    help="Force of the fastest pull, with --lever load.",
)
@click.option("--runs", type=click.IntRange(1, 10), default=3, show_default=True, help="Of each.")
@click.option("--seed", type=click.IntRange(min=0), help="Of press and order; drawn by default.")
@click.option(
    "--keep",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder to keep the result in, as JSON and as a page.",
)
@json_option
def command(
    *,
    person: str,
    target: float,
    lever: str,
    config: Path | None,
    full_force: float,
    runs: int,
    seed: int | None,
    keep: Path | None,
    as_json: bool,
) -> None:
    """Exercise ramp and hold on the simulated press, with the lever in your own hand.

    Half of the runs show the cues, the others gauge and clock only, in an order drawn by lot. Each
    takes as long as a real one. The result can serve as evidence of competence (ISO/IEC 17025,
    clause 6.2) as far as a simulated press goes.

    With --lever load the load cell or pressure transducer of a configuration is the lever: press on
    it by hand, and never with a cell under the press.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise InputError("practise needs a terminal, for the screen and the lever")
    bench = _bench_of(Lever(lever), config, full_force)
    practice = Practice(
        person=person,
        utc_ns=SystemClock().utc_ns(),
        target_psi=target,
        lever=Lever(lever),
        seed=random.SystemRandom().randrange(1_000_000) if seed is None else seed,
        planned=2 * runs,
        runs=(),
    )
    files = None if keep is None else PracticeFiles.begin(keep, practice)
    click.echo(f"lever: {LEVER_USE[practice.lever]}; V opens the valve; Ctrl Q leaves")
    click.echo(f"it {LEVER_SHOWS[practice.lever]}")
    try:
        for made in _made(practice, bench, full_force):
            practice = made
            if files is not None:
                files.keep(practice)
    finally:
        _show_result(practice, files, as_json=as_json)


def _made(practice: Practice, bench: BenchConfig | None, full_lbf: float) -> Iterator[Practice]:
    """The exercise after each of its runs."""
    off = "; hands off the lever until the screen opens" if bench else ""
    order = drawn_order(practice.seed, practice.planned // 2)
    for number, cued in enumerate(order, 1):
        side = "with cues" if cued else "gauge and clock only"
        done = None
        while done is None:
            click.pause(f"run {number} of {len(order)}, {side}: press any key to begin{off}")
            try:
                done = _run(practice, bench, full_lbf, cued=cued)
            except InputError as error:
                # A hand that was on the lever too soon must not cost the runs before.
                if not practice.runs:
                    raise
                click.echo(f"not begun: {error}")
        practice = structs.replace(practice, runs=(*practice.runs, done))
        yield practice


def _bench_of(lever: Lever, config: Path | None, full_lbf: float) -> BenchConfig | None:
    """The bench whose load is the lever; None for a lever without one."""
    if lever is not Lever.LOAD:
        if config is not None:
            raise InputError(f"--config names the load of --lever load: not used with {lever}")
        return None
    if config is None:
        raise InputError("--lever load: expected --config FILE, whose load is the lever")
    if full_lbf <= 0:
        raise InputError(f"--full-force is {full_lbf:g} lbf: expected a force above zero")
    return load_config(config)


def _show_result(practice: Practice, files: PracticeFiles | None, *, as_json: bool) -> None:
    """Whatever ended the exercise, the runs that were made are shown and kept."""
    if not practice.runs:
        if files is not None:
            files.forget()
        return
    text = (
        msgspec.json.encode(practice).decode() if as_json else "\n".join(practice_lines(practice))
    )
    click.echo(text)
    if files is not None:
        click.echo(f"kept {files.path} and .html", err=True)


def _run(
    practice: Practice, bench: BenchConfig | None, full_lbf: float, *, cued: bool
) -> PracticeRun:
    with tempfile.TemporaryDirectory(prefix="ramphold-practise-") as folder:
        try:
            return asyncio.run(_run_in(Path(folder), practice, bench, full_lbf, cued=cued))
        except asyncio.CancelledError:
            raise click.Abort from None


async def _run_in(
    folder: Path, practice: Practice, bench: BenchConfig | None, full_lbf: float, *, cued: bool
) -> PracticeRun:
    task = asyncio.current_task()
    assert task is not None  # noqa: S101 - this is one
    for number in (signal.SIGTERM, signal.SIGHUP):
        asyncio.get_running_loop().add_signal_handler(number, task.cancel)
    async with _lever(bench, full_lbf) as lever:
        exercise = Exercise(
            person=practice.person,
            target_psi=practice.target_psi,
            seed=practice.seed,
            lever=lever,
        )
        show = functools.partial(_show, practice.lever)
        try:
            return await practise_once(folder, exercise, cued=cued, show=show)
        finally:
            # A screen that is cancelled just closes, and the next run would be asked for.
            if task.cancelling():
                raise asyncio.CancelledError


@contextlib.asynccontextmanager
async def _lever(bench: BenchConfig | None, full_lbf: float) -> AsyncIterator[ForceLever | None]:
    if bench is None:
        yield None
        return
    async with open_instruments(bench) as here:
        lever = ForceLever(functools.partial(here.ask, READINGS), full_lbf)
        async with lever.followed():
            yield lever


async def _show(lever: Lever, bench: SimulatedBench, cued: bool) -> None:  # noqa: FBT001 - as practise_once asks
    from ramphold_tui.practice import PracticeLever, make_practice_app  # noqa: PLC0415 - in a terminal

    shown = PracticeLever(name=lever, use=LEVER_USE[lever], shows=LEVER_BRIEF[lever])
    await make_practice_app(Path(bench.config.control.socket), cued=cued, lever=shown).run_async()
