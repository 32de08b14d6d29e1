"""A part of a run that the database refused, as one line of a file that is kept instead.

A line is the SHA-256 in hex of what follows it, a space, and a JSON object. One that was cut by the
death of its writer, or changed, is told from a whole one, and so are all after it.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import msgspec
from msgspec import Struct

from ramphold.core import Assessment, Command, Event, Reading, RunPlan
from ramphold.core.trace import Trace
from ramphold.errors import WireError
from ramphold.undecodable import UNDECODABLE
from ramphold.wire._records import (
    decode_assessment,
    decode_command,
    decode_event,
    decode_plan,
    encode_record,
)
from ramphold.wire.packed_trace import pack_trace, unpack_trace


class Counts(NamedTuple):
    """How many readings, commands and events."""

    readings: int = 0
    commands: int = 0
    events: int = 0

    def plus(self, other: "Counts") -> "Counts":
        """Both together."""
        return Counts(*(a + b for a, b in zip(self, other, strict=True)))

    def minus(self, other: "Counts") -> "Counts":
        """How many more than another."""
        return Counts(*(a - b for a, b in zip(self, other, strict=True)))


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBegun:
    """Which run a part belongs to, and what it began with.

    Attributes:
        run: its number.
        specimen, operator, plan: what is crushed, by whom, and how.
        t_ns, utc_ns: its start, monotonic and UTC, in ns.
    """

    run: int
    specimen: int
    operator: str
    plan: RunPlan
    t_ns: int
    utc_ns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPart:
    """Some readings, commands and events of a run, in order.

    Attributes:
        begun: the run.
        first: how many readings, commands and events of it come before these.
        readings, commands, events: as the store takes them.
        ended: how the run ended, and when (UTC in ns), in the last part of one that did.
    """

    begun: RunBegun
    first: Counts
    readings: Sequence[Reading] = ()
    commands: Sequence[tuple[int, int, Command]] = ()
    events: Sequence[Event] = ()
    ended: tuple[Assessment, int] | None = None


class _Line(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    run: int
    specimen: int
    operator: str
    plan: msgspec.Raw
    t_ns: int
    utc_ns: int
    first: Counts
    trace: bytes
    commands: list[tuple[int, int, msgspec.Raw]]
    events: list[msgspec.Raw]
    ended: tuple[msgspec.Raw, int] | None = None


def encode_part(part: RunPart) -> bytes:
    """A part as a line with its end."""
    begun, ended = part.begun, part.ended
    text = msgspec.json.encode(
        _Line(
            run=begun.run,
            specimen=begun.specimen,
            operator=begun.operator,
            plan=msgspec.Raw(encode_record(begun.plan)),
            t_ns=begun.t_ns,
            utc_ns=begun.utc_ns,
            first=part.first,
            trace=pack_trace(Trace.of(part.readings)),
            commands=[(a, t, msgspec.Raw(encode_record(one))) for a, t, one in part.commands],
            events=[msgspec.Raw(encode_record(one)) for one in part.events],
            ended=None if ended is None else (msgspec.Raw(encode_record(ended[0])), ended[1]),
        )
    )
    return hashlib.sha256(text).hexdigest().encode() + b" " + text + b"\n"


def decode_parts(text: bytes) -> tuple[list[RunPart], int]:
    """The parts up to the first line that is not whole, and how many lines follow from there.

    Raises:
        WireError: a line is whole, and no part of a run.
    """
    lines = text.split(b"\n")
    parts: list[RunPart] = []
    for line in lines[:-1]:
        digest, _, body = line.partition(b" ")
        if hashlib.sha256(body).hexdigest().encode() != digest:
            break
        parts.append(_decoded(body))
    left = lines[len(parts) :]
    return parts, len(left) - (left[-1] == b"")


def _decoded(body: bytes) -> RunPart:
    try:
        line = msgspec.json.decode(body, type=_Line)
    except UNDECODABLE as error:
        raise WireError(f"not a part of a run: {error}") from None
    return RunPart(
        begun=RunBegun(
            run=line.run,
            specimen=line.specimen,
            operator=line.operator,
            plan=decode_plan(line.plan),
            t_ns=line.t_ns,
            utc_ns=line.utc_ns,
        ),
        first=line.first,
        readings=unpack_trace(line.trace).readings(),
        commands=[(after, t_ns, decode_command(one)) for after, t_ns, one in line.commands],
        events=[decode_event(one) for one in line.events],
        ended=None if line.ended is None else (decode_assessment(line.ended[0]), line.ended[1]),
    )
