"""The seal of one record: the record, and the proof that signed heads cover it.

It is enough to tell, years later and without any other record, what was recorded, by which bench's
key it was signed and when, and whether a collector had filed it. It is one line of text, whose
words hold letters, digits and `+/=,._` only: it stands in a comment of any format, and a shell
reads it. README has the check with `openssl` and `sha256sum`.
"""

import re
from base64 import b64decode, b64encode
from collections.abc import Iterator
from hashlib import sha256
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct

from ramphold.errors import InputError
from ramphold.keys import merkle
from ramphold.keys.signed_head import SignedHead
from ramphold.undecodable import UNDECODABLE

#: What a seal begins with, and its version.
SEAL_MARK = "ramphold-seal 1 "
_WORDS = re.compile(r"[a-z_.]+=[A-Za-z0-9+/=,]*(?: [a-z_.]+=[A-Za-z0-9+/=,]*)*")
_UNREADABLE: tuple[type[Exception], ...] = (KeyError, *UNDECODABLE)
_SIGNED = tuple(name for name in SignedHead.__struct_fields__ if name != "word")

Hash = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]


class CoveringHead(Struct, frozen=True, kw_only=True):
    """A signed head or receipt that covers a record.

    Attributes:
        head: what was signed.
        path: hashes in hex that lead from the record to its root (RFC 9162, 2.1.3).
    """

    head: SignedHead
    path: tuple[Hash, ...]


class RecordSeal(Struct, frozen=True, kw_only=True):
    """A record and what covers it.

    Attributes:
        record: its number.
        previous: link of the record before in its chain; empty for the first.
        body: the record, as it is kept.
        head: signed by the bench.
        receipt: signed by a collector; None if none was there.
    """

    record: Annotated[int, Meta(ge=1, le=2**53)]
    previous: Annotated[str, Meta(pattern="^([0-9a-f]{64})?$")]
    body: str
    head: CoveringHead
    receipt: CoveringHead | None = None

    def text(self) -> str:
        """The line, without an end of line."""
        body = b64encode(self.body.encode()).decode()
        words = [f"record={self.record}", f"previous={self.previous}", f"body={body}"]
        for one in filter(None, (self.head, self.receipt)):
            words += [f"{one.head.word}.{name}={getattr(one.head, name)}" for name in _SIGNED]
            words.append(f"{one.head.word}.path={','.join(one.path)}")
        return SEAL_MARK + " ".join(words)

    def findings(self) -> Iterator[str]:
        """What is wrong with the proof, a sentence each; nothing if it holds."""
        link = sha256(self.previous.encode() + self.body.encode()).hexdigest()
        leaf = merkle.leaf_hash(link.encode())
        for one, who in ((self.head, "the bench"), (self.receipt, "the collector")):
            if one is None:
                continue
            path = [bytes.fromhex(each) for each in one.path]
            root = merkle.root_by_inclusion(self.record - 1, one.head.count, leaf, path)
            if root is None or root.hex() != one.head.root:
                yield f"its record is not among those that {who} signed"
            if not one.head.is_right:
                yield f"the signature of {who} is wrong"


def read_seal(text: str) -> RecordSeal:
    """Read a seal; only what `text` writes is one, to the last letter.

    Raises:
        InputError: it is none, or something in it was changed.
    """
    words = text.removeprefix(SEAL_MARK)
    if words == text or not _WORDS.fullmatch(words):
        raise InputError("no seal: expected one line as `ramphold seal` writes it")
    fields = dict(word.split("=", 1) for word in words.split(" "))
    try:
        seal = msgspec.convert(_nested(fields), RecordSeal, strict=False)
    except _UNREADABLE as error:
        raise InputError(f"the seal is damaged: {error}") from None
    if seal.text() != text:
        raise InputError("the seal is damaged: it is not as it was written")
    return seal


def covering(head: SignedHead, tree: merkle.FullTree, record: int) -> CoveringHead:
    """A head with its path from a record, in the tree over the records that it covers."""
    path = tuple(one.hex() for one in tree.inclusion_proof(record - 1))
    return CoveringHead(head=head, path=path)


def _nested(fields: dict[str, str]) -> dict[str, Any]:
    body = b64decode(fields["body"], validate=True).decode()
    found: dict[str, Any] = {name: fields[name] for name in ("record", "previous")} | {"body": body}
    for word in ("head", "receipt"):
        if f"{word}.path" in fields:
            signed = {name: fields[f"{word}.{name}"] for name in _SIGNED} | {"word": word}
            path = [one for one in fields[f"{word}.path"].split(",") if one]
            found[word] = {"head": signed, "path": path}
    return found
