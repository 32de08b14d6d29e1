"""A person's signature within a record, and the bytes that it signs.

The signed text is the record itself with an empty signature, after the link of the record before it
in its chain. So the signature covers all that this person could have seen of the sample.
"""

from msgspec import Struct

from ramphold.keys.ed25519 import MaybeSignature, PublicKey, is_signed


class PersonSignature(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Who signed a record, and the signature.

    Attributes:
        name, function: of the person in full, as a report prints them.
        key: public key of the person, in hex.
        signature: Ed25519 over the text of `signed_text`, in hex; empty only in that text.
    """

    name: str
    function: str
    key: PublicKey
    signature: MaybeSignature = ""

    def covers(self, previous: str, body: str) -> bool:
        """Whether the signature is that of the key over a record.

        Args:
            previous: link of the record before in the same chain; empty for the first.
            body: the record as it is kept.
        """
        return is_signed(self.key, self.signature, signed_text(previous, body, self.signature))


def signed_text(previous: str, body: str, signature: str = "") -> bytes:
    """What is signed: three lines, which are a title, the link before, and the record."""
    blank = body.replace(f'"signature":"{signature}"', '"signature":""')
    return f"ramphold person 1\n{previous}\n{blank}\n".encode()


def same_name(one: str, other: str) -> bool:
    """Whether two names or initials differ in no more than case and the space around them."""
    return one.strip().casefold() == other.strip().casefold()


def signer_text(initials: str, signed: PersonSignature | None) -> str:
    """A person in full, or initials that nobody proved."""
    if signed is None:
        return f"{initials} (initials only, not signed)"
    return f"{signed.name}, {signed.function} ({initials}, signed)"
