"""Decides from the bytes of a message whether it can be filed, and why not. No I/O.

Runs in the checking process only, which also bounds what a message may cost.
"""

import contextlib
import hashlib
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import msgspec
from msgspec import Struct

from ramphold.errors import WireError
from ramphold.sample import Record, kind_name
from ramphold.wire import (
    Envelope,
    Part,
    RecordMessage,
    StateMessage,
    bench_of,
    decode_body,
    sender_of,
    unpack_envelope,
)

#: Why a message is refused, as the bench is told.
RefusalCode: TypeAlias = Literal["fork", "invalid", "hash"]

_INT64_MAX = 2**63 - 1
_REASON_LENGTH = 300
_MOST_STATE_BYTES = 64 * 1024


class CheckedRecord(Struct, frozen=True):
    """A record whose hashes are right, and that either database can hold.

    Attributes:
        bench, series: the sender.
        message: the message as it came.
        record: its decoded body.
    """

    bench: str
    series: str
    message: RecordMessage
    record: Record

    @property
    def number(self) -> int:
        """The number of the record in its series."""
        return self.record.record


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedMessage:
    """A message that cannot be filed.

    Attributes:
        topic: as it came, cleaned.
        bench, series, record: the record it is about; None if the message does not tell.
        code: `invalid`, `hash` or `fork`.
        reason: what was expected.
        payload: the bytes as they came.
        poison: whether its check failed in a way that nobody foresaw, or cost too much.
    """

    topic: str
    bench: str | None = None
    series: str | None = None
    record: int | None = None
    code: RefusalCode
    reason: str
    payload: bytes
    poison: bool = False


#: A record, an envelope with a part or a state in it, or a refusal.
CheckedMessage: TypeAlias = CheckedRecord | Envelope | RefusedMessage


def check_message(topic: str, payload: bytes) -> CheckedMessage:
    """Check a message that arrived under a topic."""
    word: Literal["record", "state"] = "state" if topic.endswith("/state") else "record"
    envelope = None
    bench = None
    try:
        bench = bench_of(topic, word)
        envelope = unpack_envelope(payload)
        return _checked(envelope, bench, word, len(payload))
    except WireError as error:
        return _refused(topic, payload, str(error), bench, envelope)


def refused_message(topic: str, payload: bytes, reason: str) -> RefusedMessage:
    """The refusal of a message about which nothing more is known."""
    return RefusedMessage(
        topic=_clean(topic), code="invalid", reason=_clean(reason), payload=payload
    )


def digest(topic: str, payload: bytes) -> str:
    """SHA-256 in hex of a message."""
    return hashlib.sha256(_clean(topic).encode() + b"\0" + payload).hexdigest()


def _refused(
    topic: str, payload: bytes, reason: str, bench: str | None, envelope: Envelope | None
) -> RefusedMessage:
    refused = replace(refused_message(topic, payload, reason), bench=bench)
    # A message of a newer version may be unreadable, yet its envelope names the record.
    with contextlib.suppress(WireError):
        sender, series, number = sender_of(payload)
        if sender == bench:
            return replace(refused, series=series, record=number or None, code=_code(envelope))
    return refused


def _code(envelope: Envelope | None) -> RefusalCode:
    """`hash` if the record is readable but does not match its hashes."""
    if envelope is None or not isinstance(envelope.message, RecordMessage):
        return "invalid"
    try:
        decode_body(envelope.message.body)
    except WireError:
        return "invalid"
    try:
        envelope.message.checked()
    except WireError:
        return "hash"
    return "invalid"


def _checked(envelope: Envelope, bench: str, word: str, size: int) -> CheckedMessage:
    if word == "state" and size > _MOST_STATE_BYTES:
        raise WireError(f"a state of {size} bytes: expected {_MOST_STATE_BYTES} at most")
    if envelope.bench != bench:
        raise WireError(f"a message from {envelope.bench} under the topic of {bench}")
    match envelope.message:
        case RecordMessage() as message if word == "record":
            return _checked_record(envelope, message)
        case Part() as part if word == "record":
            _check_part(envelope, part)
        case StateMessage() as state if word == "state":
            _check_text(msgspec.json.encode(state).decode())
            _check_number("time", envelope.utc_ns)
        case message:
            raise WireError(f"a {type(message).__name__} under the topic for a {word}")
    return envelope


def _checked_record(envelope: Envelope, message: RecordMessage) -> CheckedRecord:
    record = message.checked()
    kind = kind_name(type(record))
    if (record.record, kind) != (envelope.number, envelope.subject):
        raise WireError(
            f"record {record.record} of kind {kind} in the envelope of record "
            f"{envelope.number} of kind {envelope.subject}"
        )
    _check_text(message.body)
    if message.run is not None:
        rows = message.run.rows
        for text in (rows.plan, rows.assessment, *(one[2] for one in rows.commands + rows.events)):
            _check_text(text)
    _check_numbers(record)
    return CheckedRecord(envelope.bench, envelope.series, message, record)


def _check_part(envelope: Envelope, part: Part) -> None:
    if part.part > part.parts:
        raise WireError(f"part {part.part} of {part.parts}")
    if part.of != f"{envelope.series}:{envelope.number}":
        raise WireError(f"a part of {part.of} in the envelope of record {envelope.number}")


def _check_numbers(record: Struct) -> None:
    """Refuse whole numbers of more than 64 bits, which neither database holds."""
    for name in record.__struct_fields__:
        _check_number(name, getattr(record, name))


def _check_number(name: str, value: object) -> None:
    if isinstance(value, int):
        if abs(value) > _INT64_MAX:
            raise WireError(f"{name} is beyond 64 bits")
    elif isinstance(value, Struct):
        _check_numbers(value)
    elif isinstance(value, tuple):
        for one in value:
            _check_number(name, one)


def _check_text(text: str) -> None:
    """Refuse a NUL, which PostgreSQL does not hold."""
    if "\0" in text or "\\u0000" in text:
        raise WireError("a text with a NUL in it")


def _clean(text: str) -> str:
    """A text that any database and any log can hold."""
    return "".join(one if one.isprintable() else "?" for one in text)[:_REASON_LENGTH]
