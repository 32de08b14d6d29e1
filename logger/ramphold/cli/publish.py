"""`ramphold publish`: what goes to the laboratory's server, what waits, what was refused."""

import click

from ramphold.cli._daemon_client import DaemonClient, with_daemon
from ramphold.control.act import NoParams
from ramphold.control.publish_methods import PUBLISH_AGAIN, PUBLISHING, Publishing

__all__ = ["command"]


@click.command("publish")
@click.option("--again", is_flag=True, help="Send again what was refused, after a repair.")
@with_daemon
def command(*, again: bool, daemon: DaemonClient) -> None:
    """Show how the records of the bench go to the laboratory's server.

    Exit status 1 when there is no line to it, or something was refused.
    """
    now = daemon.ask(PUBLISH_AGAIN if again else PUBLISHING, NoParams())
    daemon.show(now, _text(now))
    raise SystemExit(0 if now.up and not now.parked else 1)


def _text(now: Publishing) -> str:
    return "\n".join(
        [
            f"server    {now.text}",
            f"waiting   {now.waiting}",
            f"refused   {len(now.parked)}",
            *(f"  record {one.record}: {one.reason}" for one in now.parked),
        ]
    )
