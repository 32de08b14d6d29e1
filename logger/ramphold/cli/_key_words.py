"""The key of a bench or a collector, and what to do where it can't sign, in words."""

from typing import NamedTuple

from ramphold.keys.ed25519 import fingerprint
from ramphold.keys.key_folder import KeyFolder


class KeyOwnerWords(NamedTuple):
    """Who makes the key, what is not signed without it, and the command that gives it up."""

    maker: str
    unsigned: str
    give_up: str


BENCH_KEY = KeyOwnerWords("daemon", "nothing is signed", "ramphold key renew --lost")
COLLECTOR_KEY = KeyOwnerWords(
    "collector", "receipts are not signed", "ramphold key renew-collector --lost"
)


def key_words(folder: KeyFolder, owner: KeyOwnerWords) -> str:
    """The fingerprint of the key in a folder; behind it, or instead, what is wrong with it.

    Raises:
        KeyFileError: the public key cannot be read.
    """
    public = folder.public()
    if public is None:
        return f"none yet: the {owner.maker} makes it at its first start"
    if not folder.has_private:
        return (
            f"{fingerprint(public)}: NO own.key, {owner.unsigned}: put it back from its backup, or "
            f"give it up (`{owner.give_up}`)"
        )
    return fingerprint(public)
