"""`ramphold demo --laboratory`: half a year of three invented benches, seen in a web browser."""

import tempfile
from pathlib import Path

import click

from ramphold.cli.browse import browse_module
from ramphold.clock import NS_PER_S, SystemClock
from ramphold.demo import fill_laboratory

_DAY_NS = 86_400 * NS_PER_S
_NOTE = "A demonstration: every bench, sand, person and figure here is invented, and traces repeat."
# Hundreds of commits are nothing in memory, and a minute on a card.
_IN_MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of our own is made in it


def show_laboratory(folder: Path, seed: int, port: int | None) -> None:
    """Fill an archive in the folder, unless there is one, and serve the laboratory's page of it."""
    serving, config = browse_module("serving"), browse_module("config")
    archive = folder / "archive.db"
    if not archive.exists():
        click.echo("inventing half a year at three benches, once; this takes up to half a minute")
        _fill(archive, seed)
    given = {} if port is None else {"port": port}
    wanted = config.BrowseConfig(
        archive=str(archive),
        laboratory="Laboratory of the demo",
        address=("1 Invented Street", "Nowhere"),
        accreditation="Invented from end to end: no sand was crushed, nobody is accredited.",
        note=_NOTE,
        **given,
    )
    serving.serve(wanted, lambda url: click.echo(f"open {url} in a web browser; Ctrl-C ends it"))


def _fill(archive: Path, seed: int) -> None:
    today_ns = SystemClock().utc_ns() // _DAY_NS * _DAY_NS
    unfinished = archive.with_suffix(".part")
    unfinished.unlink(missing_ok=True)
    with tempfile.TemporaryDirectory(dir=_IN_MEMORY if _IN_MEMORY.is_dir() else None) as folder:
        fill_laboratory(
            unfinished, Path(folder), today_ns, seed, lambda line: click.echo(f"  {line}")
        )
    unfinished.rename(archive)
