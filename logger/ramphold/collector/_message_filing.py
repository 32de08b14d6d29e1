"""Files a batch of messages in one transaction, and says what each bench is to be told."""

import contextlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from ramphold.collector._archive_writing import (
    Outcome,
    add_part,
    file_records,
    keep_state,
    quarantine,
)
from ramphold.collector._message_check import (
    CheckedMessage,
    CheckedRecord,
    RefusalCode,
    RefusedMessage,
    check_message,
    refused_message,
)
from ramphold.collector.archive import Archive
from ramphold.errors import WireError
from ramphold.wire import Envelope, Part, Receipt, RefusedRecord, StateMessage

# A receipt cannot name a greater number.
_RECORD_MAX = 2**53

#: A bench and one of its series.
Sender: TypeAlias = tuple[str, str]
#: What each sender is told.
Receipts: TypeAlias = dict[Sender, Receipt]
_Answers: TypeAlias = list[tuple[Sender, int | RefusedRecord]]

_FORK = "this series has another record of that number or beside it, or is another bench's"


@dataclass(frozen=True, slots=True)
class IncomingMessage:
    """A message as it came; `checked` is None if nobody has checked it yet."""

    topic: str
    payload: bytes
    checked: CheckedMessage | None = None


def file_messages(archive: Archive, messages: Sequence[IncomingMessage], utc_ns: int) -> Receipts:
    """File messages in one commit; returns what to tell the benches.

    If the database refuses the values of a message, each message gets a commit of its own, and that
    one goes into quarantine.

    Raises:
        StoreError: the archive cannot be reached or written; nothing was filed.
        WireError: it refuses even to put a message into quarantine.
    """
    messages = [
        one if one.checked else replace(one, checked=check_message(one.topic, one.payload))
        for one in messages
    ]
    with contextlib.suppress(WireError):
        return receipts_of(_file(archive, messages, utc_ns))
    answers: _Answers = []
    for one in messages:
        try:
            answers += _file(archive, [one], utc_ns)
        except WireError as error:
            answers += _file(archive, [_set_aside(one, str(error))], utc_ns)
    return receipts_of(answers)


def receipts_of(answers: Iterable[tuple[Sender, int | RefusedRecord]]) -> Receipts:
    """A receipt for each sender, from the number of each filed record and from each refusal."""
    receipts: Receipts = {}
    for sender, answer in answers:
        one = receipts.get(sender, Receipt(series=sender[1]))
        taken, refused = ((answer,), ()) if isinstance(answer, int) else ((), (answer,))
        receipts[sender] = Receipt(
            series=sender[1], taken=one.taken + taken, refused=one.refused + refused
        )
    return receipts


def _file(archive: Archive, messages: Sequence[IncomingMessage], utc_ns: int) -> _Answers:
    records: list[tuple[CheckedRecord, IncomingMessage]] = []
    refusals: list[RefusedMessage] = []
    states: dict[Sender, tuple[Envelope, StateMessage]] = {}
    answers: _Answers = []
    with archive.transaction():
        for incoming in messages:
            message = _joined(archive, incoming, utc_ns)
            match message.checked:
                case CheckedRecord() as record:
                    records.append((record, message))
                case RefusedMessage() as refused:
                    refusals.append(refused)
                case Envelope(message=StateMessage() as state) as envelope:
                    states[envelope.bench, envelope.series] = envelope, state
        outcomes = file_records(archive.database, [one for one, _ in records], utc_ns)
        for (one, message), outcome in zip(records, outcomes, strict=True):
            if outcome is Outcome.FORK:
                refusals.append(_refused(message, one, "fork", _FORK))
            else:
                answers.append(((one.bench, one.series), one.number))
        for sender in sorted(states):
            keep_state(archive.database, *states[sender], utc_ns)
        for refused in refusals:
            quarantine(archive.database, refused, utc_ns)
    return answers + [answer for one in refusals if (answer := _answer(one))]


def _joined(archive: Archive, message: IncomingMessage, utc_ns: int) -> IncomingMessage:
    """The message itself, or the whole message if this was its last missing part."""
    envelope = message.checked
    if not isinstance(envelope, Envelope) or not isinstance(envelope.message, Part):
        return message
    try:
        payload = add_part(archive.database, envelope.bench, envelope.message, utc_ns)
    except WireError as error:
        return replace(message, checked=_refused(message, envelope, "hash", str(error)))
    if payload is None:
        return message
    checked = check_message(message.topic, payload)
    if isinstance(checked, Envelope):
        checked = refused_message(message.topic, payload, "a part in parts")
    return IncomingMessage(message.topic, payload, checked)


def _set_aside(message: IncomingMessage, reason: str) -> IncomingMessage:
    """The message as one that the database refused."""
    refused = refused_message(message.topic, message.payload, reason)
    if isinstance(message.checked, CheckedRecord):
        refused = _refused(message, message.checked, "invalid", reason)
    return replace(message, checked=refused)


def _refused(
    message: IncomingMessage, one: CheckedRecord | Envelope, code: RefusalCode, reason: str
) -> RefusedMessage:
    return RefusedMessage(
        topic=message.topic,
        bench=one.bench,
        series=one.series,
        record=one.number,
        code=code,
        reason=reason,
        payload=message.payload,
    )


def _answer(one: RefusedMessage) -> tuple[Sender, RefusedRecord] | None:
    """What its bench is told of a refused message; None if it is not known whose it is."""
    if one.bench is None or one.series is None or one.record is None or one.record > _RECORD_MAX:
        return None
    return (one.bench, one.series), RefusedRecord(
        record=one.record, code=one.code, reason=one.reason
    )
