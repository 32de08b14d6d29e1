"""`ramphold key`: the key that signs the records, and whose receipts are kept."""

import click

from ramphold.cli._common import CommandGroup
from ramphold.cli._method_command import method_command
from ramphold.control.key_methods import RENEW_KEY, TAKE_COLLECTOR
from ramphold.keys.ed25519 import fingerprint
from ramphold.sample import KeyChanged


@click.group("key", cls=CommandGroup)
def command() -> None:
    """Renew the bench's key, or take another collector's, through the running daemon."""


def _text(record: KeyChanged) -> str:
    return (
        f"the {record.whose}'s key is {fingerprint(record.new)}, in the place of "
        f"{fingerprint(record.old)[:16]}, record {record.record}"
    )


for _one in (
    method_command(
        RENEW_KEY,
        "renew",
        text=_text,
        about="Give the bench a new key. The old one signs for it, so the laboratory's server "
        "takes it by itself.\n\n"
        "With --lost the old key is given up: it is gone, and no copy of it is left. Then a person "
        "accepts the new one at the server. What the old one has signed stays signed.",
    ),
    method_command(
        TAKE_COLLECTOR,
        "take-collector",
        "fingerprint",
        text=_text,
        about="Keep the receipts of another collector, whose key has this FINGERPRINT.\n\n"
        "A bench keeps those of the collector that it knows. `ramphold publish` says when another "
        "signs; compare its key with that which the collector shows. A key that the known one "
        "signed for is taken without this.",
    ),
):
    command.add_command(_one)
