"""`ramphold publish`: the state of the publishing to the laboratory's server."""

import click

from ramphold.cli._daemon_client import DaemonClient, with_daemon
from ramphold.control.act import NoParams
from ramphold.control.publish_methods import PUBLISH_AGAIN, PUBLISHING, Publishing


@click.command("publish")
@click.option("--again", is_flag=True, help="Send again what was refused, after a repair.")
@with_daemon
def command(*, again: bool, daemon: DaemonClient) -> None:
    """Show how the records of the bench reach the laboratory's server.

    The exit status is 1 if the server is not connected, or has refused a record.
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
