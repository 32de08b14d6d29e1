"""`ramphold daemon`: run the bench until told to stop."""

import asyncio
import logging
from pathlib import Path

import click

from ramphold.cli._common import config_option
from ramphold.clock import SystemClock
from ramphold.daemon.config import load_bench
from ramphold.daemon.main import run


@click.command("daemon")
@config_option
@click.option("--verbose", is_flag=True, help="Log every exchange with the instruments.")
def command(*, config: Path, verbose: bool) -> None:
    """Read the instruments, follow the runs, store the record; SIGTERM or Ctrl-C ends it.

    A missing port is named and tried again until it is there.
    """
    bench = load_bench(config)
    logging.basicConfig(
        level=logging.DEBUG if verbose else logging.INFO,
        format="%(levelname)-7s %(name)s: %(message)s",
    )
    asyncio.run(run(bench, SystemClock()))
