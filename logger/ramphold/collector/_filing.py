"""A batch of messages into the archive, in one transaction, and what each bench is told of it."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ramphold.collector._archive import Archive
from ramphold.collector._arrivals import (
    Arrival,
    Code,
    EventArrived,
    Outcome,
    PartArrived,
    Refusal,
    StateArrived,
)
from ramphold.collector._ingest import ingest, refusal
from ramphold.errors import WireError
from ramphold.wire import Receipt, RefusedRecord

__all__ = ["Message", "Receipts", "file_messages"]

# What a receipt can name: numbers beyond are nobody's.
_MOST = 2**53

#: A receipt for each bench and series.
Receipts = dict[tuple[str, str], Receipt]

_FORK = "this series has another record of that number or beside it, or is another bench's"


@dataclass(frozen=True, slots=True)
class Message:
    """Bytes under a topic, as they came, and what they come to where that was found out before."""

    topic: str
    payload: bytes
    arrival: Arrival | None = None


@dataclass(slots=True)
class _Told:
    taken: list[int] = field(default_factory=list)
    refused: list[RefusedRecord] = field(default_factory=list)


def file_messages(archive: Archive, messages: Sequence[Message], utc_ns: int) -> Receipts:
    """File messages, all in one commit; what to tell the benches once it returns.

    A message whose values the database refuses is put into quarantine, alone.

    Raises:
        StoreError: the archive could not be reached or written; nothing was filed.
        WireError: it refuses even to put a message into quarantine.
    """
    arrivals = [one.arrival or ingest(one.topic, one.payload) for one in messages]
    try:
        return _file(archive, messages, arrivals, utc_ns)
    except WireError as error:
        if len(messages) > 1:
            return _one_by_one(archive, messages, utc_ns)
        return _set_aside(archive, messages[0], arrivals[0], str(error), utc_ns)


def _one_by_one(archive: Archive, messages: Sequence[Message], utc_ns: int) -> Receipts:
    receipts: Receipts = {}
    for message in messages:
        for key, one in file_messages(archive, [message], utc_ns).items():
            before = receipts.get(key, Receipt(series=key[1]))
            receipts[key] = Receipt(
                series=key[1],
                taken=before.taken + one.taken,
                refused=before.refused + one.refused,
            )
    return receipts


def _set_aside(
    archive: Archive, message: Message, arrival: Arrival, reason: str, utc_ns: int
) -> Receipts:
    refused = refusal(message.topic, message.payload, reason)
    if isinstance(arrival, EventArrived):
        refused = _of(arrival, message, "invalid", reason)
    return _file(archive, [message], [refused], utc_ns)


def _file(
    archive: Archive, messages: Sequence[Message], arrivals: Sequence[Arrival], utc_ns: int
) -> Receipts:
    told: dict[tuple[str, str], _Told] = {}
    with archive.transaction():
        whole = [
            _whole(archive, message, arrival, utc_ns)
            for message, arrival in zip(messages, arrivals, strict=True)
        ]
        events = [(one, sent) for one, sent in whole if isinstance(one, EventArrived)]
        refusals = [one for one, _ in whole if isinstance(one, Refusal)]
        outcomes = archive.file([one for one, _ in events], utc_ns)
        for (one, message), outcome in zip(events, outcomes, strict=True):
            if outcome is Outcome.FORK:
                refusals.append(_of(one, message, "fork", _FORK))
            else:
                told.setdefault((one.bench, one.series), _Told()).taken.append(one.record)
        newest = {(one.bench, one.series): one for one, _ in whole if isinstance(one, StateArrived)}
        for _, state in sorted(newest.items()):
            archive.keep_state(state, utc_ns)
        for refused in refusals:
            archive.quarantine(refused, utc_ns)
            _tell(told, refused)
    return {
        key: Receipt(series=key[1], taken=tuple(one.taken), refused=tuple(one.refused))
        for key, one in told.items()
    }


def _whole(
    archive: Archive, message: Message, arrival: Arrival, utc_ns: int
) -> tuple[Arrival | None, Message]:
    """What arrived, or what a part was the last part of; None where parts are still to come."""
    if not isinstance(arrival, PartArrived):
        return arrival, message
    try:
        packed = archive.add_part(arrival, utc_ns)
    except WireError as error:
        series, _, number = arrival.event.partition(":")
        return Refusal(
            topic=message.topic, bench=arrival.bench, series=series, record=int(number),
            code="hash", reason=str(error), payload=message.payload,
        ), message  # fmt: skip
    if packed is None:
        return None, message
    whole = Message(message.topic, packed)
    found = ingest(whole.topic, packed)
    if isinstance(found, PartArrived):
        return refusal(whole.topic, packed, "a part in parts"), whole
    return found, whole


def _of(one: EventArrived, message: Message, code: Code, reason: str) -> Refusal:
    return Refusal(
        topic=message.topic,
        bench=one.bench,
        series=one.series,
        record=one.record,
        code=code,
        reason=reason,
        payload=message.payload,
    )


def _tell(told: dict[tuple[str, str], _Told], one: Refusal) -> None:
    if one.bench is None or one.series is None or one.record is None or one.record > _MOST:
        return
    told.setdefault((one.bench, one.series), _Told()).refused.append(
        RefusedRecord(record=one.record, code=one.code, reason=one.reason)
    )
