"""`ramphold practise`: three runs with cues and three without, by the user's own hand."""

import asyncio
import random
import re
import sys
import tempfile
from pathlib import Path

import click
import msgspec

from ramphold import units
from ramphold.cli._common import QuantityType, json_option
from ramphold.clock import SystemClock
from ramphold.demo import Exercise, SimulatedBench, drawn_order, practise_once
from ramphold.errors import InputError
from ramphold.report.practice import Practice, PracticeRun, practice_html, practice_lines

_LEVERS = {
    "key": "hold Space to pull, let go to stop; a key shows when you pull, not how hard",
    "wheel": "turn a mouse wheel upwards; each notch pulls a little further",
}


@click.command("practise")
@click.option("--by", "person", required=True, metavar="INITIALS", help="Who practises.")
@click.option("--target", type=QuantityType(units.STRESS), default="4000psi", show_default=True)
@click.option("--lever", type=click.Choice(list(_LEVERS)), default="key", show_default=True)
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
    runs: int,
    seed: int | None,
    keep: Path | None,
    as_json: bool,
) -> None:
    """Exercise ramp and hold on the simulated press, with the lever in your own hand.

    Half of the runs show the cues, the others gauge and clock only, in an order drawn by lot. Each
    takes as long as a real one. The result can serve as evidence of competence (ISO/IEC 17025,
    clause 6.2) as far as a simulated press goes.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise InputError("practise needs a terminal, for the screen and the lever")
    seed = random.SystemRandom().randrange(1_000_000) if seed is None else seed
    order = drawn_order(seed, runs)
    click.echo(f"lever: {_LEVERS[lever]}; V opens the valve; Ctrl Q leaves")
    done = []
    for number, cued in enumerate(order, 1):
        side = "with cues" if cued else "gauge and clock only"
        click.pause(f"run {number} of {len(order)}, {side}: press any key to begin")
        done.append(_one(Exercise(person=person, target_psi=target, seed=seed), cued=cued))
    practice = Practice(
        person=person,
        utc_ns=SystemClock().utc_ns(),
        target_psi=target,
        lever=lever,
        seed=seed,
        runs=tuple(done),
    )
    if keep is not None:
        _keep(practice, keep)
    click.echo(msgspec.json.encode(practice) if as_json else "\n".join(practice_lines(practice)))


def _one(exercise: Exercise, *, cued: bool) -> PracticeRun:
    with tempfile.TemporaryDirectory(prefix="ramphold-practise-") as folder:
        return asyncio.run(practise_once(Path(folder), exercise, cued=cued, show=_show))


async def _show(bench: SimulatedBench, cued: bool) -> None:  # noqa: FBT001 - as practise_once asks
    from ramphold_tui.practice import make_practice_app  # noqa: PLC0415 - only in a terminal

    await make_practice_app(Path(bench.config.control.socket), cued=cued).run_async()


def _keep(practice: Practice, folder: Path) -> None:
    person = re.sub(r"\W", "_", practice.person)
    name = f"practice-{person}-{practice.utc_ns // 10**9}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"{name}.json").write_bytes(msgspec.json.encode(practice))
        (folder / f"{name}.html").write_text(practice_html(practice), encoding="utf-8")
    except OSError as error:
        raise InputError(f"{folder}: can't keep the result there: {error.strerror}") from None
    click.echo(f"kept {folder / name}.json and .html", err=True)
