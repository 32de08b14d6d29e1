"""`ramphold key`: the keys of bench and collector, and whose receipts a bench keeps."""

from pathlib import Path

import click

from ramphold.cli._common import CommandGroup, json_option, show
from ramphold.cli._method_command import method_command
from ramphold.clock import SystemClock
from ramphold.collector.config import key_folder, load_config
from ramphold.control.key_methods import RENEW_KEY, TAKE_COLLECTOR
from ramphold.errors import InputError
from ramphold.keys.ed25519 import SigningKey, fingerprint
from ramphold.keys.key_change import change_key
from ramphold.sample import KeyChanged


@click.group("key", cls=CommandGroup)
def command() -> None:
    """Renew the key of the bench or of the collector, or take another collector's at the bench."""


def _text(record: KeyChanged) -> str:
    return (
        f"the {record.whose}'s key is {fingerprint(record.new)}, in the place of "
        f"{fingerprint(record.old)[:16]}, record {record.record}"
    )


@command.command("renew-collector")
@click.option("--collect", required=True, type=click.Path(path_type=Path),
              help="The collector's configuration, a TOML file.")  # fmt: skip
@click.option("--by", required=True, metavar="NAME", help="The person who says so.")
@click.option("--reason", required=True, help="Why.")
@click.option("--lost", is_flag=True, help="The old key is gone for good, and can sign nothing.")
@json_option
def renew_collector(*, collect: Path, by: str, reason: str, lost: bool, as_json: bool) -> None:
    """Give the collector a new key, on its server; then start the collector again.

    The old one signs for it, so benches take it by themselves. With --lost the old key is given up,
    and a person at each bench takes the new one (`take-collector`).
    """
    if not by.strip() or not reason.strip():
        raise InputError("renew-collector: expected --by and --reason with a text")
    folder, utc_ns = key_folder(load_config(collect)), SystemClock().utc_ns()
    folder.settle({one.new for one in folder.changes()})
    old: SigningKey | str | None = folder.public() if lost else folder.open()
    if old is None or lost == folder.has_private:
        state = "there" if folder.has_private else "missing"
        raise InputError(
            f"{folder.path}/own.key is {state}: --lost is for a key that is gone for good; the "
            "first is made when the collector starts"
        )
    new = SigningKey.generate()
    change = change_key("collector", old, new, by=by.strip(), reason=reason, utc_ns=utc_ns)
    folder.prepare(new, utc_ns)
    folder.add_change(change)
    folder.settle((new.public,))
    ask = "; at each bench a person then says `ramphold key take-collector`" if lost else ""
    text = f"the collector's key is {fingerprint(new.public)}: start the collector again{ask}"
    show(change, text, as_json=as_json)


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
