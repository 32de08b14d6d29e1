"""What a message from a bench comes to, once its bytes were read and checked."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

__all__ = [
    "Arrival",
    "Code",
    "EventArrived",
    "Outcome",
    "PartArrived",
    "Refusal",
    "RunArrived",
    "StateArrived",
]

#: Why a record is refused, as the bench is told.
Code = Literal["fork", "invalid", "hash"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunArrived:
    """What a run's record leaves to rows beside it, as the bench keeps them.

    Attributes:
        run, specimen: their numbers on the bench.
        state, verdict: how it ended, and what it was judged to be.
        target_psi: target stress in psi.
        peak_lbf: greatest force in lbf.
        ramp_rate_psi_min, held_s, hold_mean_psi: as in `RunFinished`.
        started_utc_ns, ended_utc_ns: in ns since 1970.
        started_t_ns, ended_t_ns: the same, monotonic.
        readings: how many there are.
        plan, commands, events, assessment: JSON texts.
        trace: the packed trace.
    """

    run: int
    specimen: int
    state: str
    verdict: str | None
    target_psi: float
    peak_lbf: float | None
    ramp_rate_psi_min: float | None
    held_s: float | None
    hold_mean_psi: float | None
    started_utc_ns: int
    ended_utc_ns: int
    started_t_ns: int
    ended_t_ns: int
    readings: int
    plan: str
    commands: str
    events: str
    assessment: str | None
    trace: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class EventArrived:
    """One record of a bench: its number in a series, its body to the byte, its place in a chain.

    Attributes:
        bench, series, record: who sent it, and its number there.
        kind: kind of record, such as `mass`.
        sample, specimen: what it is of, by the bench's numbers.
        laboratory_number: of a receipt of a sample; None of any other kind.
        operator, utc_ns: who wrote it and when, by the bench's clock.
        body: the record as canonical JSON.
        before: link of the record before it in the series' numbering, empty for the first.
        previous, link: hash of the record before it in its chain, empty for the first; its own.
        run: what else a run's record carries.
    """

    bench: str
    series: str
    record: int
    kind: str
    sample: int | None
    specimen: int | None
    laboratory_number: str | None
    operator: str
    utc_ns: int
    body: str
    before: str
    previous: str
    link: str
    run: RunArrived | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartArrived:
    """A piece of a message that was too large for the broker.

    Attributes:
        bench: who sent it.
        event: id of the event that was cut.
        part, parts: its number, from 1, and how many there are.
        sha256: of the whole, in hex.
        data: its bytes.
    """

    bench: str
    event: str
    part: int
    parts: int
    sha256: str
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class StateArrived:
    """How a bench is: whether its daemon is there, its newest record, and all as JSON.

    `utc_ns` is when it said so, by its own clock: the broker says it again to each who comes.
    """

    bench: str
    series: str
    utc_ns: int
    online: bool
    newest: int
    waiting: int
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A message that can't be filed, with all that is known of it.

    Attributes:
        topic: where it came from.
        bench, series, record: which record it would have been; None where its bytes don't say.
        code: `invalid`, `hash` or `fork`.
        reason: what was expected.
        payload: its bytes as they came.
    """

    topic: str
    bench: str | None = None
    series: str | None = None
    record: int | None = None
    code: Code
    reason: str
    payload: bytes


Arrival = EventArrived | PartArrived | StateArrived | Refusal


class Outcome(StrEnum):
    """What became of a record."""

    FILED = "filed"
    DUPLICATE = "duplicate"
    FORK = "fork"
