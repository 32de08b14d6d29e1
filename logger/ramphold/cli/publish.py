"""`ramphold publish`: what goes to the laboratory's server, what waits, what was refused."""

import asyncio
from pathlib import Path

import click

from ramphold.cli._common import config_option, json_option, show
from ramphold.control.client import Client
from ramphold.control.publish_methods import (
    PUBLISH_AGAIN,
    PUBLISHING,
    AskPublishing,
    Publishing,
)
from ramphold.daemon.config import load_config

__all__ = ["command"]


@click.command("publish")
@config_option
@click.option("--again", is_flag=True, help="Send again what was refused, after a repair.")
@json_option
def command(*, config: Path, again: bool, as_json: bool) -> None:
    """Show how the records of the bench go to the laboratory's server.

    Exit status 1 when there is no line to it, or something was refused.
    """
    socket = Path(load_config(config).control.socket)
    now = asyncio.run(_ask(socket, again=again))
    show(now, _text(now), as_json=as_json)
    raise SystemExit(0 if now.up and not now.parked else 1)


async def _ask(socket: Path, *, again: bool) -> Publishing:
    async with Client(socket) as client:
        return await client.call(PUBLISH_AGAIN if again else PUBLISHING, AskPublishing())


def _text(now: Publishing) -> str:
    return "\n".join(
        [
            f"server    {now.text}",
            f"waiting   {now.waiting}",
            f"refused   {len(now.parked)}",
            *(f"  record {one.record}: {one.reason}" for one in now.parked),
        ]
    )
