"""Plan, events, commands and assessment of a run as JSON, and the run that they belong to.

The same record always gives the same bytes. The name of the class of an event or a command is its
`type`.
"""

import math
from dataclasses import dataclass
from typing import Any, TypeVar, get_args

import msgspec

from ramphold.core import Assessment, Command, Event, RunPlan, RunState
from ramphold.errors import WireError
from ramphold.undecodable import UNDECODABLE

R = TypeVar("R")


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRecord:
    """A run as it is stored, without its readings and events.

    Attributes:
        id: its number on the bench.
        specimen: number of the specimen.
        operator: initials of the person who started it.
        plan: the plan.
        state: the present state, or the last one.
        reason: why it is in this state.
        started_t_ns, started_utc_ns: start, monotonic and UTC, in ns.
        ended_t_ns, ended_utc_ns: end, in ns; None while it is live.
        assessment: the assessment; None while live, and for an interrupted run.
    """

    id: int
    specimen: int
    operator: str
    plan: RunPlan
    state: RunState
    reason: str
    started_t_ns: int
    started_utc_ns: int
    ended_t_ns: int | None
    ended_utc_ns: int | None
    assessment: Assessment | None


def _kinds(union: object) -> dict[str, type]:
    members = get_args(union) or (union,)
    return {member.__name__: member for member in members}


_EVENTS = _kinds(Event)
_COMMANDS = _kinds(Command)


def kind_of(record: Event | Command) -> str:
    """The `type` of an event or a command."""
    return type(record).__name__


def encode_record(record: Event | Command | RunPlan | Assessment) -> bytes:
    """Encode a record.

    Raises:
        WireError: it contains a number that JSON cannot hold.
    """
    body = msgspec.to_builtins(record)
    if not _finite(body):
        raise WireError(f"a {type(record).__name__} with a number that is not finite: {record}")
    if not isinstance(record, RunPlan | Assessment):
        body = {"type": kind_of(record), **body}
    return msgspec.json.encode(body)


def decode_event(text: bytes | msgspec.Raw) -> Event:
    """Decode an event.

    Raises:
        WireError: it is no event.
    """
    event: Event = _tagged(text, _EVENTS, "an event")
    return event


def decode_command(text: bytes | msgspec.Raw) -> Command:
    """Decode a command.

    Raises:
        WireError: it is no command.
    """
    command: Command = _tagged(text, _COMMANDS, "a command")
    return command


def decode_plan(text: bytes | msgspec.Raw) -> RunPlan:
    """Decode a plan.

    Raises:
        WireError: it is no plan, or a plan that must not be run.
    """
    return _plain(text, RunPlan, "a plan")


def decode_assessment(text: bytes | msgspec.Raw) -> Assessment:
    """Decode an assessment.

    Raises:
        WireError: it is no assessment.
    """
    return _plain(text, Assessment, "an assessment")


def _plain(text: bytes | msgspec.Raw, wanted: type[R], name: str) -> R:
    try:
        return msgspec.json.decode(text, type=wanted)
    except UNDECODABLE as error:
        raise WireError(f"not the record of {name}: {error}") from None


def _tagged(text: bytes | msgspec.Raw, kinds: dict[str, type[msgspec.Struct]], name: str) -> Any:  # noqa: ANN401
    body = _plain(text, dict[str, Any], name)
    kind = body.pop("type", None)
    if not isinstance(kind, str) or kind not in kinds:
        raise WireError(f"not the record of {name}: type {kind!r}, expected {', '.join(kinds)}")
    wanted = kinds[kind]
    unknown = body.keys() - set(wanted.__struct_fields__)
    if unknown:
        raise WireError(f"not the record of {name}: {kind} has no {', '.join(sorted(unknown))}")
    try:
        return msgspec.convert(body, type=wanted)
    except UNDECODABLE as error:
        raise WireError(f"not the record of {name}: {kind}: {error}") from None


def _finite(body: object) -> bool:
    if isinstance(body, dict):
        return all(_finite(value) for value in body.values())
    if isinstance(body, list | tuple):
        return all(_finite(value) for value in body)
    return not isinstance(body, float) or math.isfinite(body)
