"""The run: start it, follow it, end it."""

from enum import StrEnum

import msgspec

from ramphold.control.act import (
    Above0,
    ActParams,
    Method,
    NoParams,
    Number,
    Params,
    Result,
    RunNeed,
    Text,
    Topic,
)
from ramphold.core import (
    Assessment,
    Check,
    Event,
    Quality,
    Rules,
    RunPlan,
    RunState,
    Snapshot,
    StandingWarning,
    Style,
    Verdict,
)
from ramphold.method import cell
from ramphold.wire import decode_event, encode_record

# --- parameters --------------------------------------------------------------------------------


class StartRunParams(ActParams, frozen=True, kw_only=True):
    """Which specimen to crush; what is left out comes from the specimen and the bench.

    `anyway` is a person's reason to start a run that might not be kept.
    """

    specimen: Number
    target_psi: Above0 | None = None
    rate_psi_min: Above0 | None = None
    hold_s: Above0 | None = None
    ceiling_lbf: Above0 | None = None
    style: Style | None = None
    anyway: Text | None = None


class AcknowledgeParams(ActParams, frozen=True, kw_only=True):
    """Who has seen the latched warnings."""


class ChooseStyleParams(Params, frozen=True, kw_only=True):
    """How the operator pumps from now on."""

    style: Style


class EndRunParams(ActParams, frozen=True, kw_only=True):
    """Why the record of the live run ends here."""

    reason: Text


class PumpAction(StrEnum):
    """What a hand does at the lever of the simulated press.

    `squeeze` pulls for 0.6 s, so that a key held down makes one slow pull; `stroke` makes one
    stroke as the pacing asks for it; `slip` pulls a small part of one, as one notch of
    a wheel does, and slips add up; `release` opens the valve until the next pull; `leave` gives
    the lever back to the simulated operator, and any other action takes it from him.
    """

    TAKE = "take"
    SQUEEZE = "squeeze"
    STROKE = "stroke"
    SLIP = "slip"
    RELEASE = "release"
    LEAVE = "leave"


class PumpParams(Params, frozen=True, kw_only=True):
    """Pump the simulated press by hand."""

    act: PumpAction


# --- results and topics ------------------------------------------------------------------------


class RunVerdict(Result, frozen=True, kw_only=True):
    """What an ended run came to, once that is written.

    Attributes:
        run: its number.
        verdict: of its assessment.
        worst: the check furthest off.
        counts, decided_by: whether a person decided that it counts, and who; None while nobody did.
        left_out_by: who left its specimen out of the result; empty while nobody has.
    """

    run: int
    verdict: Verdict
    worst: Check | None = None
    counts: bool | None = None
    decided_by: str = ""
    left_out_by: str = ""


class Live(Result, frozen=True, kw_only=True):
    """The load now, and the live run if there is one.

    Attributes:
        t_ns: monotonic time on the daemon's clock in ns, from which the age of a reading follows.
        reading_t_ns: time of the newest reading; None before the first.
        force_lbf: its force, unfiltered; None where it carries none.
        quality: how far it can be trusted; None before the first.
        run: number of the live run.
        snapshot: the run as of now; after its end the last one, until the next begins.
        rating_lbf, rating_name: rating of the weakest of press, cell and sensor, and its name.
        idle_warnings: warnings raised while no run was live that still stand, the gravest first.
        contact_lbf: load that counts as contact in the bench's cell, by its rules.
        unwritten: why nothing can be written, or the run or its end can't; empty while it can.
        verdict: what the run shown came to; None before its end is written.
        unkept: why a run that is started now might not be kept; empty if it would be.
    """

    t_ns: int
    reading_t_ns: int | None
    force_lbf: float | None
    quality: Quality | None
    run: int | None
    snapshot: Snapshot | None
    rating_lbf: float | None = None
    rating_name: str = ""
    idle_warnings: tuple[StandingWarning, ...] = ()
    contact_lbf: float = cell.force_lbf(Rules().contact_psi, cell.STANDARD_BORE_IN)
    unwritten: str = ""
    verdict: RunVerdict | None = None
    unkept: str = ""


class RunEvent(Result, frozen=True, kw_only=True):
    """One event of a run; `seq` counts from 0."""

    run: int
    seq: int
    record: msgspec.Raw

    @classmethod
    def of(cls, run: int, seq: int, event: Event) -> "RunEvent":
        """An event as it is stored."""
        return cls(run=run, seq=seq, record=msgspec.Raw(encode_record(event)))

    @property
    def event(self) -> Event:
        """The event itself."""
        return decode_event(self.record)


class RunStarted(Result, frozen=True, kw_only=True):
    """The run that is now live."""

    run: int
    plan: RunPlan


class RunEnded(Result, frozen=True, kw_only=True):
    """How the run ended; `unwritten` is why that is not written yet, empty if it is."""

    run: int
    state: RunState
    assessment: Assessment
    unwritten: str = ""


class LeverState(Result, frozen=True, kw_only=True):
    """Whether the user's own hand is on the lever."""

    own: bool


# --- declarations ------------------------------------------------------------------------------

ON_SNAPSHOT = Topic("snapshot", Live, replaceable=True, about="the load and the live run")
ON_EVENT = Topic("event", RunEvent, replaceable=False, about="what happened in the live run")

SNAPSHOT = Method("snapshot", NoParams, Live, "the load now and the live run")
START_RUN = Method(
    "start_run",
    StartRunParams,
    RunStarted,
    "follow the crush of a specimen from now on",
    live_run=RunNeed.REFUSED,
    advice="end it first",
    topic=ON_SNAPSHOT,
)
END_RUN = Method(
    "end_run",
    EndRunParams,
    RunEnded,
    "end the record of the live run; the press goes on",
    live_run=RunNeed.REQUIRED,
    advice="there is nothing to end",
    topic=ON_EVENT,
)
ACKNOWLEDGE = Method(
    "acknowledge",
    AcknowledgeParams,
    Live,
    "acknowledge the latched warnings",
    topic=ON_SNAPSHOT,
)
CHOOSE_STYLE = Method(
    "choose_style",
    ChooseStyleParams,
    Live,
    "pace the live run in this style from now on: `squeeze` or `strokes`",
    live_run=RunNeed.REQUIRED,
    advice="its style is chosen at its start",
    topic=ON_EVENT,
)
PUMP = Method(
    "pump",
    PumpParams,
    LeverState,
    "pump the simulated press by hand; a real bench refuses",
)

RUN_METHODS = (SNAPSHOT, START_RUN, END_RUN, ACKNOWLEDGE, CHOOSE_STYLE)
