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
_PEOPLE = ("record", "previous", "body", "path")
_SIGNED = tuple(name for name in SignedHead.__struct_fields__ if name != "word")

Hash = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
Number = Annotated[int, Meta(ge=1, le=2**53)]
#: A link, or nothing for the first record of a chain.
Before = Annotated[str, Meta(pattern="^([0-9a-f]{64})?$")]


class CoveringHead(Struct, frozen=True, kw_only=True):
    """A signed head or receipt that covers a record.

    Attributes:
        head: what was signed.
        path: hashes in hex that lead from the record to its root (RFC 9162, 2.1.3).
    """

    head: SignedHead
    path: tuple[Hash, ...]


class AnsweredRecord(Struct, frozen=True, kw_only=True):
    """A record that a person answered for, or that says who signs, under the same head.

    Attributes:
        record, previous, body: as of the seal's own record.
        path: hashes in hex that lead from it to the root of the head.
    """

    record: Number
    previous: Before
    body: str
    path: tuple[Hash, ...]


class RecordSeal(Struct, frozen=True, kw_only=True):
    """A record and what covers it.

    Attributes:
        record: its number.
        previous: link of the record before in its chain; empty for the first.
        body: the record, as it is kept.
        head: signed by the bench.
        receipt: signed by a collector; None if none was there.
        people: before the issue of a report, in order: who signs at the bench, and the decisions
            and reviews of the sample.
    """

    record: Number
    previous: Before
    body: str
    head: CoveringHead
    receipt: CoveringHead | None = None
    people: tuple[AnsweredRecord, ...] = ()

    def text(self) -> str:
        """The line, without an end of line."""
        words = [f"record={self.record}", f"previous={self.previous}", f"body={_base64(self.body)}"]
        for one in filter(None, (self.head, self.receipt)):
            words += [f"{one.head.word}.{name}={getattr(one.head, name)}" for name in _SIGNED]
            words.append(f"{one.head.word}.path={','.join(one.path)}")
        if self.people:
            words += [
                "people.record=" + ",".join(str(one.record) for one in self.people),
                "people.previous=" + ",".join(one.previous for one in self.people),
                "people.body=" + ",".join(_base64(one.body) for one in self.people),
                "people.path=" + ",".join("/".join(one.path) for one in self.people),
            ]
        return SEAL_MARK + " ".join(words)

    def findings(self) -> Iterator[str]:
        """What is wrong with the proof, a sentence each; nothing if it holds."""
        for one, who in ((self.head, "the bench"), (self.receipt, "the collector")):
            if one is None:
                continue
            if not _is_under(one.head, self, one.path):
                yield f"its record is not among those that {who} signed"
            if not one.head.is_right:
                yield f"the signature of {who} is wrong"
        for person in self.people:
            if not _is_under(self.head.head, person, person.path):
                yield f"record {person.record} is not among those that the bench signed"


def _is_under(head: SignedHead, one: RecordSeal | AnsweredRecord, path: tuple[str, ...]) -> bool:
    """Whether a record is among those of a head."""
    link = sha256(one.previous.encode() + one.body.encode()).hexdigest()
    hashes = [bytes.fromhex(each) for each in path]
    leaf = merkle.leaf_hash(link.encode())
    root = merkle.root_by_inclusion(one.record - 1, head.count, leaf, hashes)
    return root is not None and root.hex() == head.root


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
    found: dict[str, Any] = {name: fields[name] for name in ("record", "previous")}
    found["body"] = _text_of(fields["body"])
    for word in ("head", "receipt"):
        if f"{word}.path" in fields:
            signed = {name: fields[f"{word}.{name}"] for name in _SIGNED} | {"word": word}
            path = [one for one in fields[f"{word}.path"].split(",") if one]
            found[word] = {"head": signed, "path": path}
    if "people.record" in fields:
        columns = [fields[f"people.{name}"].split(",") for name in _PEOPLE]
        found["people"] = [
            {"record": record, "previous": previous, "body": _text_of(body),
             "path": [one for one in path.split("/") if one]}
            for record, previous, body, path in zip(*columns, strict=True)
        ]  # fmt: skip
    return found


def _base64(text: str) -> str:
    return b64encode(text.encode()).decode()


def _text_of(base64: str) -> str:
    return b64decode(base64, validate=True).decode()
