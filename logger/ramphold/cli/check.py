"""`ramphold check`: is the configuration right, and do the ports answer."""

import asyncio
import queue
from pathlib import Path

import click
from msgspec import Struct

from ramphold.cli._common import json_option, show
from ramphold.cli._records import check_records
from ramphold.clock import SystemClock
from ramphold.control import methods
from ramphold.control.client import Client
from ramphold.core import MassReading, Reading
from ramphold.daemon.bench import BALANCE, LOAD, make_instruments
from ramphold.daemon.config import BenchConfig, load_config
from ramphold.errors import InputError, LinkError, PortError
from ramphold.instruments import Health, HealthState

__all__ = ["command"]

_LISTEN_S = 3.0


class Answer(Struct, frozen=True, kw_only=True):
    """What came of one instrument."""

    name: str
    port: str
    ok: bool
    text: str


class CheckResult(Struct, frozen=True, kw_only=True):
    """What the command prints with --json."""

    bench: str
    through_daemon: bool
    rating_lbf: float
    rating_of: str
    instruments: list[Answer]


@click.command("check")
@click.option("--config", type=click.Path(path_type=Path), help="The bench's configuration.")
@click.option("--records", type=click.Path(path_type=Path), help="A database to look over.")
@click.option("--link", "links", multiple=True, metavar="HASH", help="One that a report prints.")
@json_option
def command(
    *, config: Path | None, records: Path | None, links: tuple[str, ...], as_json: bool
) -> None:
    """Read the configuration, and hear each instrument of the bench once.

    While the daemon runs, it is asked instead. Exit status 0 when all answer, 1 when one does not.

    With --records, look the database over instead: whether anything in it was changed behind the
    program's back, and whether the link that a report prints still stands (--link). Exit status 1
    when something was.
    """
    if records is not None:
        raise SystemExit(check_records(records, links, as_json=as_json))
    if config is None:
        raise InputError("check: expected --config FILE, or --records FILE")
    bench = load_config(config)
    through_daemon = True
    try:
        answers = asyncio.run(_ask_daemon(bench))
    except LinkError:
        through_daemon, answers = False, _listen(bench)
    weakest, rating_lbf = bench.weakest
    result = CheckResult(
        bench=bench.bench,
        through_daemon=through_daemon,
        rating_lbf=rating_lbf,
        rating_of=weakest,
        instruments=answers,
    )
    show(result, _text(config, result), as_json=as_json)
    raise SystemExit(0 if all(answer.ok for answer in answers) else 1)


def _text(config: Path, result: CheckResult) -> str:
    how = ", told by the daemon" if result.through_daemon else ""
    rating = f"rated {result.rating_lbf:.0f} lbf by its {result.rating_of}"
    lines = [f"{config} is right: bench {result.bench}, {rating}{how}"]
    lines += [
        f"{answer.name:<9}{answer.port}  {'ok' if answer.ok else 'NO'}  {answer.text}"
        for answer in result.instruments
    ]
    return "\n".join(lines)


async def _ask_daemon(bench: BenchConfig) -> list[Answer]:
    async with await Client.connect(Path(bench.control.socket)) as client:
        status = await client.call(methods.STATUS, methods.NoParams())
    ports = _ports(bench)
    return [
        Answer(name=one.name, port=ports[one.name], ok=one.ok, text=one.text)
        for one in status.instruments
    ]


def _listen(bench: BenchConfig) -> list[Answer]:
    """Hear every instrument until each has said something, or for a few seconds."""
    heard: queue.Queue[Reading | MassReading | Health] = queue.Queue()
    instruments = make_instruments(
        bench, SystemClock(), on_load=heard.put, on_mass=heard.put, on_health=heard.put
    )
    said: dict[str, str] = {}
    silent: dict[str, str] = {one.name: "sends nothing" for one in instruments}
    for instrument in instruments:
        instrument.start()
    try:
        while len(said) < len(instruments):
            one = heard.get(timeout=_LISTEN_S)
            if isinstance(one, Health):
                if one.state is HealthState.MISSING:
                    raise PortError(one.detail)
                silent[one.name] = one.detail
            else:
                said[LOAD if isinstance(one, Reading) else BALANCE] = _said(one)
    except queue.Empty:
        pass
    finally:
        for instrument in instruments:
            instrument.stop()
    return [
        Answer(name=name, port=port, ok=name in said, text=said.get(name) or silent[name])
        for name, port in _ports(bench).items()
    ]


def _said(one: Reading | MassReading) -> str:
    if isinstance(one, Reading):
        return f"{one.force_lbf:.1f} lbf, {one.quality}" if one.usable else one.quality
    return f"{one.mass_g:.3f} g, {one.state}" if one.mass_g is not None else one.state


def _ports(bench: BenchConfig) -> dict[str, str]:
    ports = {LOAD: bench.load.place}
    return ports | ({BALANCE: bench.balance.port} if bench.balance else {})
