"""The part of the table that a screen lives on: a run's load, the shakers, when to ask again."""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta

from ramphold.control._basis import Initials, Method, NoParams, Number, Params, Result, Topic
from ramphold.core import RunState
from ramphold.sample import ShakingEnded

__all__ = [
    "END_SHAKING",
    "ON_RECORD",
    "PUMP",
    "SCREEN_METHODS",
    "SHAKINGS",
    "TRACE",
    "EndShaking",
    "LoadTrace",
    "OwnHandNow",
    "Pump",
    "PumpAct",
    "RecordAdded",
    "ShakingNow",
    "Shakings",
    "TraceWanted",
]


class TraceWanted(Params, frozen=True, kw_only=True):
    """The load of a run, live or ended, in at most so many points."""

    run: Number
    most: Annotated[int, Meta(ge=20, le=4000)] = 1000


class EndShaking(Params, frozen=True, kw_only=True):
    """What the record `shaking` put on the shaker was taken off it."""

    shaking: Number
    operator: Initials


class PumpAct(StrEnum):
    """What a hand does at the lever of the simulated press.

    `squeeze` pulls for 0.6 s from now, so that a key that is held makes one slow pull; `stroke` is
    one stroke as it is called for; `release` opens the valve until the lever is pulled again;
    `leave` gives the lever back to the simulated operator, and any other takes it from him.
    """

    TAKE = "take"
    SQUEEZE = "squeeze"
    STROKE = "stroke"
    RELEASE = "release"
    LEAVE = "leave"


class Pump(Params, frozen=True, kw_only=True):
    """Pump the simulated press by hand."""

    act: PumpAct


class OwnHandNow(Result, frozen=True, kw_only=True):
    """Whether the user's own hand holds the lever now."""

    own: bool


class LoadTrace(Result, frozen=True, kw_only=True):
    """The load of a run over time, and what it is seen against.

    All times are in s since the ramp began; since the run's start where it has not, and then
    `line_psi` is empty.

    Attributes:
        run: its number.
        state: where it stands.
        load_psi: unbroken lines of (time, stress in psi): the raw readings' least and greatest of
            each short time, so that a spike is never lost.
        states: when each state began, in order.
        line_psi: corners (time, stress in psi) of the planned line, to the end of the hold.
        target_psi: the plan's target.
        band_psi: least and greatest stress of the hold band, and `hold_s` from when to when it
            counts; None before the hold.
        ceiling_psi, rating_psi: the plan's limits over the area of the bore.
        area_in2: that area, to have the load in lbf.
    """

    run: int
    state: RunState
    load_psi: tuple[tuple[tuple[float, float], ...], ...]
    states: tuple[tuple[float, RunState], ...]
    line_psi: tuple[tuple[float, float], ...]
    target_psi: float
    band_psi: tuple[float, float]
    hold_s: tuple[float, float] | None
    ceiling_psi: float
    rating_psi: float
    area_in2: float


class ShakingNow(Result, frozen=True, kw_only=True):
    """One that is on the shaker, or whose time is up and which nobody took off yet.

    Attributes:
        shaking: number of the record that it began with.
        sample, laboratory_number: whose sieve analysis it is, or whose specimen; None of none.
        specimen, label: the specimen; None for the sieve analysis.
        operator: who put it on.
        planned_s: how long it is to be shaken, in s.
        to_go_s: time left in s, by the daemon's clock as it answered; negative once it is up.
    """

    shaking: int
    sample: int | None
    laboratory_number: str | None
    specimen: int | None
    label: str | None
    operator: str
    planned_s: float
    to_go_s: float


class Shakings(Result, frozen=True, kw_only=True):
    """All of the bench, the first to be done in front."""

    shakings: tuple[ShakingNow, ...]


class RecordAdded(Result, frozen=True, kw_only=True):
    """A record is kept: of what kind, of which sample, specimen and run, and its number.

    Whoever shows what stands in the records asks again. `sample` is None for one of the bench
    itself, or of a specimen without a sample.
    """

    record: int
    kind: str
    sample: int | None = None
    specimen: int | None = None
    run: int | None = None


TRACE = Method("trace", TraceWanted, LoadTrace, "the load of a run as points for a screen")
SHAKINGS = Method("shakings", NoParams, Shakings, "what is on the shaker, and for how long")
END_SHAKING = Method("end_shaking", EndShaking, ShakingEnded, "it was taken off the shaker")

PUMP = Method("pump", Pump, OwnHandNow, "pump the simulated press by hand; no other has it")

SCREEN_METHODS = (TRACE, SHAKINGS, END_SHAKING, PUMP)

# Never replaced: a screen that shows one sample would miss its record for another's.
ON_RECORD = Topic("record", RecordAdded, replaceable=False, about="a record was added")
