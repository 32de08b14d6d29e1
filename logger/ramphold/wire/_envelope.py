"""The envelope of every message, CloudEvents 1.0 in its JSON format, and the topics.

Source: CloudEvents specification 1.0.2, context attributes, and its JSON event format, 3. `series`
is our own extension; `sequence` is the extension of that name, a number with leading zeros.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from hashlib import sha256
from typing import Annotated, Literal

import msgspec
from msgspec import Meta, Raw, Struct, structs

from ramphold.errors import WireError
from ramphold.undecodable import UNDECODABLE
from ramphold.wire._bench_messages import MESSAGES, Message, Part, Series

CONTENT_TYPE = "application/cloudevents+json"
_SOURCE = "ramphold/"
_BENCH = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", re.ASCII)
_TOPIC = re.compile(r"ramphold/1/([^/]+)/(record|state|receipt)")
#: Of a whole message; a run of MOST_READINGS through a noisy converter takes 14 MB.
MOST_MESSAGE_BYTES = 16 * 1024 * 1024
_MOST_PARTS = 4096
# Base64 turns three bytes into four, and the rest of a part's envelope takes under 700 bytes.
_AROUND_A_PART = 700

Word = Literal["record", "state", "receipt"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """A message and its origin.

    Attributes:
        bench: name of the bench.
        series: the bench's current numbering, 32 hex digits.
        number: number of its record; 0 if it has none.
        utc_ns: time in UTC, ns since 1970.
        subject: kind of the record, or another word for the content.
        message: the content.
    """

    bench: str
    series: str
    number: int
    utc_ns: int
    subject: str
    message: Message

    @property
    def id(self) -> str:
        """Identifier of the message; the same each time it is sent."""
        match self.message:
            case Part(part=part, parts=parts):
                return f"{self.series}:{self.number}:{part}/{parts}"
            case _ if self.number:
                return f"{self.series}:{self.number}"
        # To the microsecond, the resolution of the time on the wire.
        return f"{self.series}:{self.subject}:{self.utc_ns // 1000}"


class _Event(Struct, frozen=True, kw_only=True):
    """The JSON on the wire; other extensions are ignored."""

    specversion: Literal["1.0"] = "1.0"
    id: Annotated[str, Meta(min_length=1, max_length=200)]
    source: Annotated[str, Meta(max_length=100)]
    type: Annotated[str, Meta(max_length=100)]
    time: datetime
    datacontenttype: Literal["application/json"] = "application/json"
    subject: Annotated[str, Meta(max_length=100)]
    series: Series
    sequence: Annotated[str, Meta(pattern="^[0-9]{12,16}$")]
    data: Raw


def pack_envelope(envelope: Envelope) -> bytes:
    """Encode an envelope.

    Raises:
        WireError: the bench's name cannot be part of a topic.
    """
    kind = next(name for name, kind in MESSAGES.items() if type(envelope.message) is kind)
    event = _Event(
        id=envelope.id,
        source=_SOURCE + check_bench(envelope.bench),
        type=kind,
        time=datetime.fromtimestamp(envelope.utc_ns // 10**9, UTC).replace(
            microsecond=envelope.utc_ns % 10**9 // 1000
        ),
        subject=envelope.subject,
        series=envelope.series,
        sequence=f"{envelope.number:012}",
        data=Raw(msgspec.json.encode(envelope.message)),
    )
    return msgspec.json.encode(event)


def unpack_envelope(packed: bytes) -> Envelope:
    """Decode an envelope; its time is exact to the microsecond.

    Raises:
        WireError: it is not one of ours, or this version does not know its content.
    """
    event = _event(packed)
    bench = _bench(event)
    if event.type not in MESSAGES:
        raise WireError(f"a message of type {event.type!r}: expected {', '.join(MESSAGES)}")
    try:
        message: Message = msgspec.json.decode(event.data, type=MESSAGES[event.type])
        since_1970 = event.time.replace(tzinfo=event.time.tzinfo or UTC) - _1970
    except UNDECODABLE as error:
        raise WireError(f"not a message of a bench: {error}") from None
    envelope = Envelope(
        bench=bench,
        series=event.series,
        number=int(event.sequence),
        utc_ns=(since_1970.days * 86_400 + since_1970.seconds) * 10**9
        + since_1970.microseconds * 1000,
        subject=event.subject,
        message=message,
    )
    if envelope.id != event.id:
        raise WireError(f"a message of id {event.id!r}: expected {envelope.id!r}")
    return envelope


def sender_of(packed: bytes) -> tuple[str, str, int]:
    """Bench, series and number of a message, even of one from a newer version.

    Raises:
        WireError: they cannot be read.
    """
    event = _event(packed)
    return _bench(event), event.series, int(event.sequence)


def _event(packed: bytes) -> _Event:
    if len(packed) > MOST_MESSAGE_BYTES:
        raise WireError(f"a message of {len(packed)} bytes: expected at most {MOST_MESSAGE_BYTES}")
    try:
        return msgspec.json.decode(packed, type=_Event)
    except UNDECODABLE as error:
        raise WireError(f"not a message of a bench: {error}") from None


def _bench(event: _Event) -> str:
    if not event.source.startswith(_SOURCE):
        raise WireError(f"a message from {event.source!r}: expected {_SOURCE}BENCH")
    return check_bench(event.source.removeprefix(_SOURCE))


_1970 = datetime(1970, 1, 1, tzinfo=UTC)


def check_bench(name: str) -> str:
    """Return a bench's name if it can be part of a topic and of a file's name.

    Raises:
        WireError: it cannot.
    """
    if not _BENCH.fullmatch(name):
        raise WireError(
            f"a bench named {name[:80]!r}: expected 1 to 64 letters, digits, dots, dashes or "
            "underscores, a letter or digit first"
        )
    return name


def topic(bench: str, word: Word) -> str:
    """The topic of a bench's records, of its state, or of its receipts.

    Raises:
        WireError: the bench's name cannot be part of a topic.
    """
    return f"ramphold/1/{check_bench(bench)}/{word}"


def bench_of(name: str, word: Word) -> str:
    """The bench of a topic.

    Raises:
        WireError: it is another topic.
    """
    found = _TOPIC.fullmatch(name)
    if not found or found[2] != word:
        raise WireError(f"a message under {name[:200]!r}: expected ramphold/1/BENCH/{word}")
    return check_bench(found[1])


def cut(envelope: Envelope, limit: int) -> list[bytes]:
    """Encode an envelope, split into messages of at most `limit` bytes.

    Raises:
        WireError: the limit is too small.
    """
    packed = pack_envelope(envelope)
    if len(packed) <= limit:
        return [packed]
    size = (limit - _AROUND_A_PART) // 4 * 3
    if len(packed) > size * _MOST_PARTS:
        raise WireError(
            f"a message of {len(packed)} bytes in packets of {limit}: expected room for it in "
            f"{_MOST_PARTS} parts"
        )
    pieces = [packed[at : at + size] for at in range(0, len(packed), size)]
    whole = Part(
        of=envelope.id, part=1, parts=len(pieces), sha256=sha256(packed).hexdigest(), content=b""
    )
    return [
        pack_envelope(replace(envelope, message=structs.replace(whole, part=number, content=piece)))
        for number, piece in enumerate(pieces, 1)
    ]


def join(parts: Iterable[Part]) -> bytes:
    """Join the parts of a message, given in any order.

    Raises:
        WireError: a part is missing, or they belong to several messages.
    """
    there = {part.part: part for part in parts}
    kinds = {(part.of, part.parts, part.sha256) for part in there.values()}
    if len(kinds) != 1:
        raise WireError("parts of several messages, or of none: expected those of one")
    ((of, count, digest),) = kinds
    if sorted(there) != list(range(1, count + 1)):
        raise WireError(f"{len(there)} parts of message {of}: expected {count}")
    whole = b"".join(there[number].content for number in range(1, count + 1))
    if sha256(whole).hexdigest() != digest:
        raise WireError(f"the parts of message {of} are not those that were cut")
    return whole
