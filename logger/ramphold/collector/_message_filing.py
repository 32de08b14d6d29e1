"""Files a batch of messages in one transaction, and says what each bench is to be told."""

import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from ramphold.collector._archive_database import Database
from ramphold.collector._archive_writing import (
    Outcome,
    add_part,
    file_records,
    keep_state,
)
from ramphold.collector._message_check import (
    CheckedMessage,
    CheckedRecord,
    RefusalCode,
    RefusedMessage,
    refused_message,
)
from ramphold.collector.archive import Archive
from ramphold.collector.archive_quarantine import quarantine
from ramphold.errors import StoreError, WireError
from ramphold.wire import Envelope, Part, Receipt, RefusedRecord, StateMessage

_log = logging.getLogger("ramphold.collector")

# A receipt cannot name a greater number.
_RECORD_MAX = 2**53

#: A bench and one of its series.
Sender: TypeAlias = tuple[str, str]
#: What each sender is told.
Receipts: TypeAlias = dict[Sender, Receipt]
_Answers: TypeAlias = list[tuple[Sender, int | RefusedRecord]]

_Taken: TypeAlias = tuple[
    list[tuple[CheckedRecord, "IncomingMessage"]], list[RefusedMessage], list[tuple[str, bytes]]
]

_FORK = "this series has another record of that number or beside it, or is another bench's"


@dataclass(frozen=True, slots=True)
class IncomingMessage:
    """A message as it came, and what the checking process made of it."""

    topic: str
    payload: bytes
    checked: CheckedMessage


@dataclass(frozen=True, slots=True)
class FiledMessages:
    """What came of a batch.

    Attributes:
        receipts: what to tell the benches.
        joined: topic and payload of each message whose last part has come, to be checked.
    """

    receipts: Receipts
    joined: tuple[tuple[str, bytes], ...]


def file_messages(
    archive: Archive, messages: Sequence[IncomingMessage], utc_ns: int
) -> FiledMessages:
    """File messages in one commit.

    If that fails, other than by the archive itself, each message gets a commit of its own, and one
    that fails again goes into quarantine.

    Raises:
        StoreError: the archive cannot be reached or written; nothing was filed.
    """
    batch = _Batch(archive, utc_ns)
    try:
        batch.file(messages)
    except StoreError:
        raise
    except Exception:  # noqa: BLE001 - one message must not stop the others
        batch = _Batch(archive, utc_ns)
        for one in messages:
            _file_alone(batch, one)
    return FiledMessages(receipts_of(batch.answers), tuple(batch.joined))


def _file_alone(batch: "_Batch", one: IncomingMessage) -> None:
    try:
        batch.file([one])
    except StoreError:
        raise
    except Exception as error:  # noqa: BLE001
        try:
            batch.file([_set_aside(one, f"{error}" or type(error).__name__)])
        except StoreError:
            raise
        except Exception as worse:  # noqa: BLE001
            _log.error("a message of %d bytes is dropped: %r", len(one.payload), worse)


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


class _Batch:
    """Files messages; `answers` and `joined` grow with each commit."""

    def __init__(self, archive: Archive, utc_ns: int) -> None:
        self._archive, self._utc_ns = archive, utc_ns
        self.answers: _Answers = []
        self.joined: list[tuple[str, bytes]] = []

    def file(self, messages: Sequence[IncomingMessage]) -> None:
        """File messages in one commit."""
        database, utc_ns = self._archive.database, self._utc_ns
        answers: _Answers = []
        with self._archive.transaction():
            records, refusals, joined = self._taken(messages)
            outcomes = file_records(database, [one for one, _ in records], utc_ns)
            for (one, message), outcome in zip(records, outcomes, strict=True):
                if outcome is Outcome.FORK:
                    refusals.append(_refused(message, one, "fork", _FORK))
                else:
                    answers.append(((one.bench, one.series), one.number))
            quarantine(database, refusals, utc_ns)
        self.joined += joined
        self.answers += answers + [answer for one in refusals if (answer := _answer(one))]

    def _taken(self, messages: Sequence[IncomingMessage]) -> _Taken:
        """Keep states and parts; returns the records, the refusals and the joined messages."""
        database, utc_ns = self._archive.database, self._utc_ns
        records: list[tuple[CheckedRecord, IncomingMessage]] = []
        refusals: list[RefusedMessage] = []
        joined: list[tuple[str, bytes]] = []
        states: dict[Sender, tuple[Envelope, StateMessage]] = {}
        for message in messages:
            match message.checked:
                case CheckedRecord() as record:
                    records.append((record, message))
                case RefusedMessage() as refused:
                    refusals.append(refused)
                case Envelope(message=StateMessage() as state) as envelope:
                    states[envelope.bench, envelope.series] = envelope, state
                case Envelope(message=Part() as part) as envelope:
                    whole = _joined(database, envelope, part, message, utc_ns)
                    if isinstance(whole, RefusedMessage):
                        refusals.append(whole)
                    elif whole is not None:
                        joined.append((message.topic, whole))
        for sender in sorted(states):
            keep_state(database, *states[sender], utc_ns)
        return records, refusals, joined


def _joined(
    database: Database, envelope: Envelope, part: Part, message: IncomingMessage, utc_ns: int
) -> bytes | RefusedMessage | None:
    """The whole message if this was its last missing part."""
    try:
        return add_part(database, envelope.bench, part, utc_ns)
    except WireError as error:
        return _refused(message, envelope, "hash", str(error))


def _set_aside(message: IncomingMessage, reason: str) -> IncomingMessage:
    """The message as one that cannot be filed."""
    refused = refused_message(message.topic, message.payload, reason)
    if isinstance(message.checked, CheckedRecord):
        refused = _refused(message, message.checked, "invalid", refused.reason)
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
