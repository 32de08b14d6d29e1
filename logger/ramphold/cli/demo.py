"""`ramphold demo`: one specimen, or a whole sample, on the simulated bench."""

import asyncio
import contextlib
import logging
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import msgspec

from ramphold.cli._common import json_option
from ramphold.cli._record_seals import seal_files
from ramphold.cli._report_files import letterhead, write_report
from ramphold.cli._report_source import open_source
from ramphold.control.simulated_methods import SandQuality
from ramphold.daemon.config import BenchConfig
from ramphold.demo import (
    DemoResult,
    ReportIssue,
    SimulatedBench,
    crush_one_specimen,
    walk_sample,
)
from ramphold.errors import InputError, PortError, RampholdError
from ramphold.report import Issue

_HEADLESS_SPEED, _SCREEN_SPEED = 60.0, 10.0

Say = Callable[[str], None]


@click.command("demo")
@click.option("--headless", is_flag=True, help="Print instead of opening the screen.")
@click.option("--speed", type=click.FloatRange(min=0, min_open=True), help="Times real time.")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True)
@click.option(
    "--sand",
    type=click.Choice([one.value for one in SandQuality]),
    default=SandQuality.FAIR.value,
    show_default=True,
    help="How much the sand bears.",
)
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Keep the database here instead of in a temporary folder.",
)
@click.option("--sample", is_flag=True, help="A whole sample from receipt to report, headless.")
@click.option("--laboratory", is_flag=True, help="Half a year of three benches, in a web browser.")
@click.option("--port", type=click.IntRange(0, 65535), help="Of --laboratory; 0 is any free one.")
@json_option
def command(
    *,
    headless: bool,
    speed: float | None,
    seed: int,
    sand: str,
    folder: Path | None,
    sample: bool,
    laboratory: bool,
    port: int | None,
    as_json: bool,
) -> None:
    """Crush one specimen on a simulated bench, from the charge to the fines."""
    if laboratory:
        from ramphold.cli._laboratory_demo import show_laboratory  # noqa: PLC0415 - needs an extra

        with _folder(folder) as place:
            show_laboratory(place, seed, port)
        return
    if sample:
        with _folder(folder) as place:
            say = _teller(as_json=as_json)
            walked = asyncio.run(walk_sample(place, seed, say, issue_report, sand=sand))
        if as_json:
            click.echo(msgspec.json.encode(walked))
        return
    # Textual draws on stderr and reads stdin.
    terminal = all(stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr))
    screen = terminal and not headless and not as_json
    speed = speed or (_SCREEN_SPEED if screen else _HEADLESS_SPEED)
    with _folder(folder) as place:
        if screen:
            asyncio.run(_on_screen(place, seed, speed, sand))
            return
        result = asyncio.run(_headless(place, seed, speed, sand, _teller(as_json=as_json)))
    if as_json:
        click.echo(msgspec.json.encode(result))


def issue_report(config: BenchConfig, now: ReportIssue) -> tuple[int, str]:
    """Write and issue the report of a sample on a bench whose daemon runs."""
    path = Path(config.store.path)
    issue = Issue(utc_ns=now.utc_ns, by=now.by, letterhead=letterhead(config.laboratory))
    with open_source(now.sample, db=path) as source:
        _, written = write_report(source, issue, path.parent, hand_out=now.record)
    seal_files([*map(Path, written.files)], path, None, wait=True)
    return written.revision or 0, written.files[0]


def _teller(*, as_json: bool) -> Say:
    # The story goes to stderr when the result must stand alone.
    return lambda line: click.echo(line, err=as_json)


@contextlib.contextmanager
def _folder(wanted: Path | None) -> Iterator[Path]:
    if wanted is not None:
        try:
            wanted.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(f"{wanted} can't be made a folder: {error.strerror}") from None
        yield wanted.absolute()  # commands read its bench.toml from other folders
        return
    with tempfile.TemporaryDirectory(prefix="ramphold-demo-") as name:
        yield Path(name)


async def _headless(folder: Path, seed: int, speed: float, sand: str, say: Say) -> DemoResult:
    async with SimulatedBench(folder, seed=seed, speed=speed, sand=sand) as bench:
        return await crush_one_specimen(bench, seed, say)


async def _on_screen(folder: Path, seed: int, speed: float, sand: str) -> None:
    from ramphold_tui.app import make_app  # noqa: PLC0415 - headless must not wait for it

    # A warning logged to stderr would be written across the screen.
    logging.getLogger().addHandler(logging.NullHandler())
    lines: list[str] = []
    async with (
        SimulatedBench(folder, seed=seed, speed=speed, sand=sand) as bench,
        asyncio.TaskGroup() as group,
    ):
        story = group.create_task(_shown(bench, seed, lines.append))
        await make_app(Path(bench.config.control.socket)).run_async()
        story.cancel()
    click.echo("\n".join(lines))


async def _shown(bench: SimulatedBench, seed: int, say: Say) -> None:
    """One specimen; then the bench runs in real time for any run that is started."""
    try:
        await crush_one_specimen(bench, seed, say)
    except* RampholdError as errors:
        # The user did something else with balance, sample or press: the bench is his from here.
        say(f"left      the demo's operator stopped: {errors.exceptions[0]}")
    bench.set_speed(1.0)
    while True:
        try:
            await bench.pump()
        except PortError:  # the computer slept; the ports open again by themselves
            await asyncio.sleep(1.0)
