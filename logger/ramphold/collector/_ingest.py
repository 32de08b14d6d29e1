"""From the bytes of a message to what it comes to, or to why it can't be filed. No I/O.

Whatever comes gives an arrival; nothing that a bench, or somebody in its place, may send gives an
exception.
"""

import contextlib
from dataclasses import replace
from typing import Literal

import msgspec
from msgspec import structs

from ramphold.collector._arrivals import (
    Arrival,
    Code,
    EventArrived,
    PartArrived,
    Refusal,
    RunArrived,
    StateArrived,
)
from ramphold.errors import WireError
from ramphold.sample import Record, RunFinished, SampleReceived, kind_name
from ramphold.wire import (
    Envelope,
    Part,
    RecordMessage,
    RunMessage,
    StateMessage,
    bench_of,
    decode_body,
    sender_of,
    unpack_envelope,
)

__all__ = ["ingest", "refusal"]

_MOST = 2**63 - 1
_REASON = 300


def ingest(topic: str, payload: bytes) -> Arrival:
    """What a message under a topic comes to."""
    word: Literal["record", "state"] = "state" if topic.endswith("/state") else "record"
    envelope = None
    bench = None
    try:
        bench = bench_of(topic, word)
        envelope = unpack_envelope(payload)
        return _arrival(envelope, bench, word)
    except WireError as error:
        return _refused(topic, payload, str(error), bench, envelope)


def refusal(topic: str, payload: bytes, reason: str) -> Refusal:
    """A message that is not filed, and of which nothing more is known."""
    return Refusal(topic=_clean(topic), code="invalid", reason=_clean(reason), payload=payload)


def _refused(
    topic: str, payload: bytes, reason: str, bench: str | None, envelope: Envelope | None
) -> Refusal:
    refused = replace(refusal(topic, payload, reason), bench=bench)
    # What a newer bench says may be beyond us, and which record it is of is not.
    with contextlib.suppress(WireError):
        sender, series, number = sender_of(payload)
        if sender == bench:
            return replace(refused, series=series, record=number or None, code=_code(envelope))
    return refused


def _code(envelope: Envelope | None) -> Code:
    """`hash` where the record can be read, and is not what its hashes are of."""
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


def _arrival(envelope: Envelope, bench: str, word: str) -> Arrival:
    if envelope.bench != bench:
        raise WireError(f"a message from {envelope.bench} under the topic of {bench}")
    match envelope.message:
        case RecordMessage() if word == "record":
            return _event(envelope, envelope.message)
        case Part() if word == "record":
            return _part(envelope, envelope.message)
        case StateMessage() if word == "state":
            return _state(envelope, envelope.message)
    raise WireError(f"a {type(envelope.message).__name__} under the topic for a {word}")


def _event(envelope: Envelope, message: RecordMessage) -> EventArrived:
    record = message.checked()
    if (record.record, kind_name(type(record))) != (envelope.number, envelope.subject):
        raise WireError(
            f"record {record.record} of kind {kind_name(type(record))} in the envelope of record "
            f"{envelope.number} of kind {envelope.subject}"
        )
    _check_storable(record, message)
    run = None
    if isinstance(record, RunFinished) and message.run is not None:
        run = _run(record, message.run)
    return EventArrived(
        bench=envelope.bench,
        series=envelope.series,
        record=record.record,
        kind=envelope.subject,
        sample=record.sample,
        specimen=getattr(record, "specimen", None),
        laboratory_number=record.laboratory_number if isinstance(record, SampleReceived) else None,
        operator=record.operator,
        utc_ns=record.utc_ns,
        body=message.body,
        before=message.before,
        previous=message.previous,
        link=message.link,
        run=run,
    )


def _run(record: RunFinished, message: RunMessage) -> RunArrived:
    rows = message.rows
    return RunArrived(
        run=record.run,
        specimen=record.specimen,
        state=record.state,
        verdict=record.verdict,
        target_psi=record.target_psi,
        peak_lbf=record.peak_lbf,
        ramp_rate_psi_min=record.ramp_rate_psi_min,
        held_s=record.held_s,
        hold_mean_psi=record.hold_mean_psi,
        started_utc_ns=record.started_utc_ns,
        ended_utc_ns=record.ended_utc_ns,
        started_t_ns=rows.started_t_ns,
        ended_t_ns=rows.ended_t_ns,
        readings=record.readings,
        plan=rows.plan,
        commands=msgspec.json.encode(rows.commands).decode(),
        events=msgspec.json.encode(rows.events).decode(),
        assessment=rows.assessment,
        trace=message.trace,
    )


def _part(envelope: Envelope, part: Part) -> PartArrived:
    if part.part > part.parts:
        raise WireError(f"part {part.part} of {part.parts}")
    if part.of != f"{envelope.series}:{envelope.number}":
        raise WireError(f"a part of {part.of} in the envelope of record {envelope.number}")
    return PartArrived(
        bench=envelope.bench,
        event=part.of,
        part=part.part,
        parts=part.parts,
        sha256=part.sha256,
        data=part.content,
    )


def _state(envelope: Envelope, state: StateMessage) -> StateArrived:
    body = msgspec.json.encode(state).decode()
    _check_text(body)
    _check_numbers({"time": envelope.utc_ns})
    return StateArrived(
        bench=envelope.bench,
        series=envelope.series,
        utc_ns=envelope.utc_ns,
        online=state.online,
        newest=state.newest,
        waiting=state.waiting,
        body=body,
    )


def _check_storable(record: Record, message: RecordMessage) -> None:
    """See that either database can hold it: whole numbers of 64 bits, no NUL in a text."""
    _check_text(message.body)
    if message.run is not None:
        rows = message.run.rows
        for text in (rows.plan, rows.assessment, *(one[2] for one in rows.commands + rows.events)):
            _check_text(text)
        _check_numbers(structs.asdict(rows))
    _check_numbers(structs.asdict(record))


def _check_numbers(values: dict[str, object]) -> None:
    for name, value in values.items():
        if isinstance(value, int) and abs(value) > _MOST:
            raise WireError(f"{name} is beyond 64 bits")


def _check_text(text: str) -> None:
    if "\0" in text or "\\u0000" in text:
        raise WireError("a text with a NUL in it")


def _clean(text: str) -> str:
    """A text that any database and any log can hold."""
    return "".join(one if one.isprintable() else "?" for one in text)[:_REASON]
