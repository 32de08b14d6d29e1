"""`ramphold daemon`: follow the bench until told to stop."""

import asyncio
import logging
from pathlib import Path

import click

from ramphold.cli._common import config_option
from ramphold.clock import SystemClock
from ramphold.daemon.config import load_config
from ramphold.daemon.main import run

__all__ = ["command"]


@click.command("daemon")
@config_option
@click.option("--verbose", is_flag=True, help="Log every exchange with the instruments.")
def command(*, config: Path, verbose: bool) -> None:
    """Read the instruments, follow the runs, keep everything; ends on SIGTERM or Ctrl-C.

    A port that is missing is named and tried again for as long as it takes.
    """
    bench = load_config(config)
    logging.basicConfig(
        level=logging.DEBUG if verbose else logging.INFO,
        format="%(levelname)-7s %(name)s: %(message)s",
    )
    asyncio.run(run(bench, SystemClock()))
