"""`ramphold collect`: file what the benches send until stopped, or show the status."""

import asyncio
import logging
from importlib import resources
from pathlib import Path

import click
from msgspec import structs

from ramphold.cli._collect_decisions import accept as accept_bench
from ramphold.cli._collect_decisions import decide_dispute, dispute_text
from ramphold.cli._common import json_option, show
from ramphold.cli._key_words import COLLECTOR_KEY, key_words
from ramphold.cli._pin import pin_option
from ramphold.clock import SystemClock, utc_text
from ramphold.collector.archive import QuarantinedMessages, open_archive
from ramphold.collector.archive_quarantine import clear as clear_quarantine
from ramphold.collector.archive_status import BenchStatus, CollectStatus, collect_status
from ramphold.collector.config import CollectConfig, key_folder, load_config
from ramphold.collector.main import run
from ramphold.errors import KeyFileError


def _print_metadata(context: click.Context, _option: click.Parameter, wanted: bool) -> None:  # noqa: FBT001 - click's own order
    if wanted:
        text = resources.files("ramphold.collector").joinpath("metadata.json").read_text("utf-8")
        click.echo(text, nl=False)
        context.exit()


@click.command("collect")
@click.option(
    "--config",
    required=True,
    type=click.Path(path_type=Path),
    help="The collector's configuration, a TOML file.",
)
@click.option("--status", is_flag=True, help="Show what is filed, then exit.")
@click.option(
    "--clear",
    metavar="BENCH",
    help="Delete what of this bench could not be filed, once somebody has looked at it; then exit.",
)
@click.option(
    "--metadata",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_metadata,
    help="Print descriptions and queries of the archive for datasette; needs no --config.",
)
@click.option(
    "--accept",
    nargs=2,
    metavar="BENCH FINGERPRINT",
    help="Accept a bench's key: what it signed is vouched for. Needs --by.",
)
@click.option(
    "--decide",
    nargs=2,
    metavar="SERIES VERDICT",
    help="Decide a dispute: the `filed` one stands, or the `arrived` one, or `both`.",
)
@click.option("--by", default="", metavar="NAME", help="The person who says so; signs by initials.")
@click.option("--reason", default="", help="Why, for --decide.")
@pin_option
@json_option
def command(
    *,
    config: Path,
    status: bool,
    clear: str | None,
    accept: tuple[str, str] | None,
    decide: tuple[str, str] | None,
    by: str,
    reason: str,
    pin_file: Path | None,
    as_json: bool,
) -> None:
    """File what the benches send into the laboratory's archive; ends on SIGTERM or Ctrl-C.

    With --status: each bench, what is filed, missing, and could not be filed; exit status 1 where
    records are missing, refused or disputed, two benches have one name, or a bench signed other
    records than it sent.

    With --accept: the fingerprint that `ramphold check` shows at the bench, compared by a person,
    becomes that of the bench. Records are filed before that too, as not vouched for.

    With --decide: a numbering that contradicts what was filed is disputed until a person with a key
    (`ramphold person`) has decided. The decision is signed and kept.
    """
    wanted = load_config(config)
    if accept is not None:
        accept_bench(wanted, *accept, by, as_json=as_json)
        return
    if decide is not None:
        decide_dispute(wanted, *decide, by, reason, pin_file, as_json=as_json)
        return
    if clear is not None:
        with open_archive(wanted.archive) as archive, archive.transaction():
            count = clear_quarantine(archive.database, clear)
        click.echo(f"{count} refused messages of {clear} are deleted")
        return
    if status:
        with open_archive(wanted.archive, read_only=True) as archive:
            found = structs.replace(collect_status(archive), key=_key_state(wanted))
        show(found, _text(found), as_json=as_json)
        raise SystemExit(0 if found.well else 1)
    logging.basicConfig(level=logging.INFO, format="%(levelname)-7s %(name)s: %(message)s")
    asyncio.run(run(wanted, SystemClock()))


def _text(found: CollectStatus) -> str:
    lines = [
        f"{'bench':<20} {'state':<8} {'filed':>8} {'waiting':>8}  heard (UTC)          missing"
    ]
    lines += [_line(one) for one in found.benches if one.in_force]
    lines += [_vouched(one) for one in found.benches if one.in_force]
    lines += [
        f"CONTRADICTED  {one.bench}: {one.contradicted} heads or receipts are over other records "
        f"than those filed: `ramphold check --records {found.archive}`"
        for one in found.benches
        if one.contradicted
    ]
    lines += map(dispute_text, found.disputes)
    lines += [
        f"{one.bench}: {one.filed} records of a numbering that is {one.standing}, {one.series[:8]}"
        for one in found.benches
        if not one.in_force
    ]
    lines += [
        f"DOUBLED  two benches are called {name}: give one of them another name"
        for name in found.doubled
    ]
    lines += [
        f"REFUSED  {one.bench or 'unknown'}: {one.messages} messages in table `quarantine`"
        f"{_dropped(one)}, the newest of {utc_text(one.newest_utc_ns)}: {one.reason}"
        for one in found.quarantine
    ]
    return "\n".join([*lines, f"key      {found.key}", f"archive  {found.archive}"])


def _key_state(config: CollectConfig) -> str:
    """The fingerprint of the collector's key, which a person compares at a bench."""
    try:
        return key_words(key_folder(config), COLLECTOR_KEY)
    except KeyFileError as error:
        return str(error)


def _vouched(one: BenchStatus) -> str:
    if one.fingerprint is None:
        return f"{one.bench}: not signed, so nobody vouches for its records"
    if one.vouched and not one.accepted:
        return (
            f"{one.bench}: {one.vouched} records are vouched for, and none that key "
            f"{one.fingerprint} signs now: compare it with the bench's, then "
            f"--accept {one.bench} {one.fingerprint[:16]} --by NAME"
        )
    if one.vouched:
        return f"{one.bench}: {one.vouched} records are vouched for by key {one.fingerprint[:16]}"
    return (
        f"{one.bench}: not vouched for: compare key {one.fingerprint} with the bench's, then "
        f"--accept {one.bench} {one.fingerprint[:16]} --by NAME"
    )


def _dropped(one: QuarantinedMessages) -> str:
    if not one.dropped:
        return ""
    return f", {one.dropped} more dropped ({one.dropped_bytes / 1e6:.1f} MB)"


def _line(one: BenchStatus) -> str:
    missing = ", ".join(
        str(first) if first == last else f"{first}-{last}" for first, last in one.missing
    )
    state = "online" if one.online else "away"
    return (
        f"{one.bench:<20} {state:<8} {one.filed:>8} {one.waiting:>8}  {utc_text(one.heard_utc_ns)}"
        f"  {missing or '-'}"
    )
