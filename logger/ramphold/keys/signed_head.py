"""A signed head: how many records a bench has, and the root of the tree over their links."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from ramphold.keys.ed25519 import PublicKey, SignatureText, SigningKey, is_signed

#: Whose word it is: the bench signs a head, the collector a receipt for the records it has filed.
HeadWord = Literal["head", "receipt"]


class SignedHead(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A statement about all records of a bench up to a number, and who signed it.

    Attributes:
        word: `head` if the bench signed it, `receipt` if a collector did.
        count: how many records there are; also the number of the newest.
        root: root of the Merkle tree over their links (`keys.merkle`), in hex.
        utc_ns: when it was signed, UTC in ns since 1970.
        key: public key of the signer, in hex.
        signature: Ed25519 over `statement`, in hex.
    """

    word: HeadWord
    count: Annotated[int, Meta(ge=1, le=2**53)]
    root: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
    utc_ns: Annotated[int, Meta(ge=0, le=2**63 - 1)]
    key: PublicKey
    signature: SignatureText

    @property
    def statement(self) -> bytes:
        """The signed bytes: four lines of text."""
        return _statement(self.word, self.count, self.root, self.utc_ns)

    @property
    def is_right(self) -> bool:
        """Whether the signature is that of the key; who owns the key is another question."""
        return is_signed(self.key, self.signature, self.statement)


def sign_head(key: SigningKey, word: HeadWord, count: int, root: str, utc_ns: int) -> SignedHead:
    """Sign how many records there are, and their root."""
    return SignedHead(
        word=word,
        count=count,
        root=root,
        utc_ns=utc_ns,
        key=key.public,
        signature=key.sign(_statement(word, count, root, utc_ns)),
    )


def _statement(word: HeadWord, count: int, root: str, utc_ns: int) -> bytes:
    return f"ramphold {word} 1\ncount {count}\nroot {root}\nutc_ns {utc_ns}\n".encode()
