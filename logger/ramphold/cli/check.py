"""`ramphold check`: check the configuration, the instruments and the records."""

import asyncio
import os
from pathlib import Path

import click
from msgspec import Struct

from ramphold.cli._bench_text import trust_lines
from ramphold.cli._common import json_option, show
from ramphold.cli._instrument_access import InstrumentAccess, open_instruments
from ramphold.cli._key_words import BENCH_KEY, key_words
from ramphold.cli._records_check import check_archive, check_records, is_archive
from ramphold.control.act import NoParams
from ramphold.control.instrument_methods import INSTRUMENTS, InstrumentNow
from ramphold.control.run_methods import SNAPSHOT, Live
from ramphold.control.server_methods import STATUS
from ramphold.daemon.config import BenchConfig, load_bench
from ramphold.errors import InputError, KeyFileError
from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.key_folder import KeyFolder
from ramphold.trust import TrustPart

_LISTEN_S = 3.0


class CheckResult(Struct, frozen=True, kw_only=True):
    """What the command prints with --json.

    Attributes:
        through_daemon: whether a running daemon answered, and not the ports themselves.
        run: number of its live run, if there is one.
        unwritten: why nothing is being recorded, or a run could not be; empty if all is well.
        trust: how far each part of the bench can be trusted, as the daemon tells it.
        unusual: what the configuration keeps with a reason.
    """

    bench: str
    through_daemon: bool
    run: int | None
    unwritten: str
    trust: tuple[TrustPart, ...]
    rating_lbf: float
    rating_of: str
    fingerprint: str
    key: str
    instruments: tuple[InstrumentNow, ...]
    unusual: tuple[str, ...] = ()


@click.command("check")
@click.option("--config", type=click.Path(path_type=Path), help="The bench's configuration.")
@click.option("--live", is_flag=True, help="Show them every second until Ctrl-C.")
@click.option("--records", type=click.Path(path_type=Path), help="A database to audit.")
@click.option("--link", "links", multiple=True, metavar="HASH", help="A link that a report prints.")
@click.option("--archive", metavar="URL", help="Compare with what was filed; alone, audit that.")
@click.option("--fingerprint", "wanted", metavar="HEX", help="The bench's key, for a copied file.")
@json_option
def command(
    *,
    config: Path | None,
    live: bool,
    records: Path | None,
    links: tuple[str, ...],
    wanted: str | None,
    archive: str | None,
    as_json: bool,
) -> None:
    """Read the configuration, and show each instrument of the bench live.

    That is raw reading, value, rate, noise, share at rest, age and calibration, from the running
    daemon if there is one, which also says whether a run is live, and whether the database takes
    one. The exit status is 1 if an instrument does not answer, or nothing can be recorded.

    With --records, audit a database instead: whether it is whole, whether its records are those
    that the bench signed, and whether the link that a report prints is still there (--link). The
    exit status is 1 if something was changed, or is not signed. With --archive, compare it with
    what the laboratory's server has filed, record by record; --archive alone audits the archive.
    """
    if records is not None and not is_archive(records):
        raise SystemExit(check_records(records, links, wanted, archive, as_json=as_json))
    if (url := str(records) if records else archive) is not None:
        raise SystemExit(check_archive(url, as_json=as_json))
    if config is None:
        raise InputError("check: expected --config FILE, or --records FILE")
    bench = load_bench(config)
    raise SystemExit(0 if look_at_bench(config, bench, live=live, as_json=as_json) else 1)


def look_at_bench(
    config: Path, bench: BenchConfig, *, live: bool = False, as_json: bool = False
) -> bool:
    """Show each instrument of a bench; whether all answer, and what is read is recorded."""
    result = asyncio.run(_look(config, bench, live=live, as_json=as_json))
    return not result.unwritten and all(one.ok for one in result.instruments)


async def _look(config: Path, bench: BenchConfig, *, live: bool, as_json: bool) -> CheckResult:
    async with open_instruments(bench) as here:
        if not here.through_daemon:
            await asyncio.sleep(_LISTEN_S)  # until every instrument has had time to answer
        while True:
            result = await _now(bench, here)
            show(result, _text(config, result), as_json=as_json)
            if not live:
                return result
            await asyncio.sleep(1)


async def _now(bench: BenchConfig, here: InstrumentAccess) -> CheckResult:
    weakest, rating_lbf = bench.weakest
    found = await here.ask(INSTRUMENTS, NoParams())
    digits, key = _key_state(Path(bench.store.path))
    live: Live | None = None
    parts: tuple[TrustPart, ...] = ()
    if here.through_daemon:
        live = await here.ask(SNAPSHOT, NoParams())
        parts = (await here.ask(STATUS, NoParams())).trust
    return CheckResult(
        fingerprint=digits,
        key=key,
        bench=bench.bench,
        through_daemon=here.through_daemon,
        run=live.run if live else None,
        unwritten=(live.unwritten or live.unkept) if live else "",
        trust=parts,
        rating_lbf=rating_lbf,
        rating_of=weakest,
        instruments=found.instruments,
        unusual=bench.unusual_words,
    )


def _key_state(database: Path) -> tuple[str, str]:
    """The fingerprint of the bench's key, and its state in words."""
    folder = KeyFolder.beside(database)
    try:
        public, words = folder.public(), key_words(folder, BENCH_KEY)
        if folder.has_private and os.access(folder.path / "own.key", os.R_OK):
            folder.open()
    except KeyFileError as error:
        return "", str(error)
    return fingerprint(public) if public else "", words


def _text(config: Path, result: CheckResult) -> str:
    how = ", told by the daemon" if result.through_daemon else ""
    rating = f"rated {result.rating_lbf:.0f} lbf by its {result.rating_of}"
    lines = [f"{config} is right: bench {result.bench}, {rating}{how}"]
    lines.append(f"key      {result.key}")
    if result.run is not None:
        lines.append(f"run {result.run} is live: leave the daemon running until it has ended")
    if result.unwritten:
        lines.append(f"NOT RECORDED: {result.unwritten}")
    lines += trust_lines(result.trust)
    lines += [f"UNUSUAL  {one}" for one in result.unusual]
    for one in result.instruments:
        lines += [f"{one.name:<9}{one.place}  {'ok' if one.ok else f'NO  {one.text}'}"]
        lines += [f"  {name:<12}{text}" for name, text in _figures(one) if text]
    return "\n".join(lines)


def _figures(one: InstrumentNow) -> list[tuple[str, str]]:
    places = 3 if one.unit == "g" else 1
    value = "" if one.value is None else f"{one.value:.{places}f} {one.unit}, "
    return [
        ("raw", one.raw),
        ("value", f"{value}{one.quality}"),
        ("rate", "" if one.rate_per_s is None else f"{one.rate_per_s:.1f} a second"),
        ("noise", "" if one.noise is None else f"{one.noise:.{places + 1}f} {one.unit}"),
        ("at rest", "" if one.steady_pct is None else f"{one.steady_pct:.0f} % of the last 5 s"),
        ("age", "" if one.age_s is None else f"{one.age_s:.2f} s"),
        ("calibration", one.calibration),
    ]
