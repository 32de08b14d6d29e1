"""`ramphold record`: what an instrument sends, as a transcript."""

import asyncio
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Literal, cast

import click

from ramphold.cli._common import config_option, write_new
from ramphold.cli._instrument_access import open_instruments
from ramphold.clock import SystemClock
from ramphold.control.instrument_methods import EXCHANGE, Exchange, ExchangeParams
from ramphold.daemon.certificates import today
from ramphold.daemon.config import BenchConfig, load_config
from ramphold.wire import LoadFrame, MassFrame, transcript


@click.command("record")
@config_option
@click.option("--instrument", type=click.Choice(["load", "balance"]), default="load")
@click.option("--seconds", type=click.FloatRange(0.1, 600), default=10.0, show_default=True)
@click.option("--title", default="", help="Its first line: what it shows.")
@click.option(
    "--output", type=click.Path(path_type=Path), help="A new file; standard output by default."
)
def command(
    *, config: Path, instrument: str, seconds: float, title: str, output: Path | None
) -> None:
    """Listen to an instrument, and write its bytes with the frames they make.

    The header has wire shape, rate, date and `recorded`; add no maker and no model. If the daemon
    runs, it is asked for the bytes. The exit status is 1 if nothing came.
    """
    bench = load_config(config)
    which = cast("Literal['load', 'balance']", instrument)
    wanted = ExchangeParams(instrument=which, seconds=seconds)
    heard = asyncio.run(_listen(bench, wanted))
    if not any(part.way == "<" for part in heard.parts):
        click.echo(f"{instrument}: nothing came in {seconds:g} s", err=True)
        raise SystemExit(1)
    if heard.cut:
        click.echo(f"{instrument}: only the first megabyte is kept", err=True)
    text = _text(bench, wanted, heard, title or f"What the {instrument} sent")
    if output is None:
        click.echo(text, nl=False)
    else:
        write_new(output, text)


async def _listen(bench: BenchConfig, wanted: ExchangeParams) -> Exchange:
    async with open_instruments(bench) as here:
        return await here.ask(EXCHANGE, wanted)


def _text(bench: BenchConfig, wanted: ExchangeParams, heard: Exchange, title: str) -> str:
    lines = sum(part.data.count(b"\r") or part.data.count(b"\n") for part in heard.parts)
    rate = ", ".join(filter(None, (heard.rate, f"{lines / wanted.seconds:.3g} lines a second")))
    return transcript(
        [(part.way, part.data) for part in heard.parts],
        _decoder(bench, wanted.instrument),
        title=title,
        shape=heard.about,
        profile=heard.profile,
        unit=heard.unit,
        rate=rate,
        date=today(SystemClock().utc_ns()),
    )


def _decoder(
    bench: BenchConfig, instrument: str
) -> Callable[[bytes], Sequence[LoadFrame | MassFrame]]:
    lines = bench.load.lines if instrument == "load" else bench.balance
    # The running daemon may have another configuration than this one.
    return lines.decode() if lines is not None else lambda _: ()
