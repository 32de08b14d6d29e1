"""The one table of what the daemon can be asked and what it tells unasked.

Server, client, documentation and its test read it. Parameters go by name; an unknown one is an
error. Every number is in the unit its name ends in; every time is in ns.
"""

from typing import Annotated, Any

import msgspec
from msgspec import Meta

from ramphold.control._basis import (
    Above0,
    Initials,
    Method,
    NoParams,
    Number,
    Params,
    Result,
    Text,
    Topic,
)
from ramphold.control.bench_methods import BENCH_METHODS
from ramphold.control.publish_methods import PUBLISH_METHODS
from ramphold.control.sample_methods import SAMPLE_METHODS, Which
from ramphold.control.screen_methods import ON_RECORD, SCREEN_METHODS, RecordAdded
from ramphold.core import (
    Assessment,
    Event,
    MassReading,
    Quality,
    RunPlan,
    RunState,
    Snapshot,
    StandingWarning,
    Style,
)
from ramphold.sample import SpecimenAdded
from ramphold.wire import RunRecord, decode_event, encode_record

__all__ = [
    "ACKNOWLEDGE",
    "ADD_SPECIMEN",
    "CHOOSE_STYLE",
    "END_RUN",
    "METHODS",
    "ON_EVENT",
    "ON_HEALTH",
    "ON_MASS",
    "ON_RECORD",
    "ON_SNAPSHOT",
    "RUN",
    "RUNS",
    "SNAPSHOT",
    "START_RUN",
    "STATUS",
    "SUBSCRIBE",
    "TOPICS",
    "Acknowledge",
    "ById",
    "ChooseStyle",
    "EndRun",
    "Health",
    "InstrumentHealth",
    "Live",
    "Method",
    "NewSpecimen",
    "NoParams",
    "Page",
    "RecordAdded",
    "RunDetail",
    "RunEnded",
    "RunEvent",
    "RunStarted",
    "Runs",
    "StartRun",
    "Status",
    "Subscribed",
    "Subscription",
    "Told",
    "Topic",
]

# --- parameters --------------------------------------------------------------------------------


class ById(Params, frozen=True, kw_only=True):
    """One run by its number."""

    id: Number


class Page(Params, frozen=True, kw_only=True):
    """The newest rows, or those before a number already seen."""

    before: Number | None = None
    limit: Annotated[int, Meta(ge=1, le=200)] = 50


class NewSpecimen(Params, frozen=True, kw_only=True):
    """A charge of proppant to be crushed; of a sample, or of none."""

    label: Text
    target_psi: Above0
    operator: Initials
    bore_in: Above0 = 2.0
    sample: Which | None = None
    cell: Annotated[str, Meta(max_length=200)] = ""


class StartRun(Params, frozen=True, kw_only=True):
    """Which specimen to crush; what is left out comes from the specimen and the bench."""

    specimen: Number
    operator: Initials
    target_psi: Above0 | None = None
    rate_psi_min: Above0 | None = None
    hold_s: Above0 | None = None
    ceiling_lbf: Above0 | None = None
    style: Style | None = None


class Acknowledge(Params, frozen=True, kw_only=True):
    """Who saw the latched warnings."""

    operator: Initials


class ChooseStyle(Params, frozen=True, kw_only=True):
    """How the operator pumps from now on."""

    style: Style


class EndRun(Params, frozen=True, kw_only=True):
    """Why the record of the live run ends here."""

    reason: Text
    operator: Initials


class Subscription(Params, frozen=True, kw_only=True):
    """Names of topics; replaces what was subscribed to before."""

    topics: tuple[str, ...]


# --- results and what is told unasked ----------------------------------------------------------


class InstrumentHealth(Result, frozen=True, kw_only=True):
    """How one instrument is; `text` says what is wrong and what to do, or that nothing is."""

    name: str
    kind: str
    ok: bool
    text: str


class Health(Result, frozen=True, kw_only=True):
    """How all instruments are."""

    instruments: tuple[InstrumentHealth, ...]


class Status(Result, frozen=True, kw_only=True):
    """What the bench is and what goes on; `run` is the live run's number.

    `simulated` says that nothing on it is real and that its press takes the method `pump`.
    """

    bench: str
    version: str
    t_ns: int
    utc_ns: int
    instruments: tuple[InstrumentHealth, ...]
    run: int | None
    simulated: bool = False


class Live(Result, frozen=True, kw_only=True):
    """The load now, and the live run if there is one.

    Attributes:
        t_ns: monotonic time on the daemon's clock in ns, to tell the age of a reading by.
        reading_t_ns: that of the newest reading; None before the first.
        force_lbf: its force, unfiltered; None where it carries none.
        quality: how far it can be believed; None before the first.
        run: number of the live run.
        snapshot: the run as of now; the last one's end until the next begins.
        rating_lbf, rating_name: what the weakest of press, cell and sensor bears, and which it is.
        idle_warnings: those that stand of a load that no run followed, the gravest first.
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


class RunEvent(Result, frozen=True, kw_only=True):
    """One event of a run, `seq` its place in the record from 0."""

    run: int
    seq: int
    record: msgspec.Raw

    @classmethod
    def of(cls, run: int, seq: int, event: Event) -> "RunEvent":
        """The event as it is kept."""
        return cls(run=run, seq=seq, record=msgspec.Raw(encode_record(event)))

    @property
    def event(self) -> Event:
        """The event itself."""
        return decode_event(self.record)


class RunStarted(Result, frozen=True, kw_only=True):
    """The run that now is live."""

    run: int
    plan: RunPlan


class RunEnded(Result, frozen=True, kw_only=True):
    """How the run ended."""

    run: int
    state: RunState
    assessment: Assessment


class Runs(Result, frozen=True, kw_only=True):
    """Runs, newest first."""

    runs: tuple[RunRecord, ...]


class RunDetail(Result, frozen=True, kw_only=True):
    """A run with its specimen and its events."""

    run: RunRecord
    specimen: SpecimenAdded
    events: tuple[RunEvent, ...]


class Subscribed(Result, frozen=True, kw_only=True):
    """The topics that will be told from now on."""

    topics: tuple[str, ...]


# --- the table ---------------------------------------------------------------------------------


STATUS = Method("status", NoParams, Status, "what the bench is, its instruments, the live run")
SNAPSHOT = Method("snapshot", NoParams, Live, "the load now and the live run")
ADD_SPECIMEN = Method("add_specimen", NewSpecimen, SpecimenAdded, "record a specimen")
START_RUN = Method("start_run", StartRun, RunStarted, "follow the crush of a specimen from now on")
END_RUN = Method("end_run", EndRun, RunEnded, "end the record of the live run; the press goes on")
ACKNOWLEDGE = Method("acknowledge", Acknowledge, Live, "the latched warnings were seen")
CHOOSE_STYLE = Method("choose_style", ChooseStyle, Live, "pace the live run this way from now on")
RUNS = Method("runs", Page, Runs, "runs, newest first")
RUN = Method("run", ById, RunDetail, "one run: specimen, plan, state, assessment, events")
SUBSCRIBE = Method("subscribe", Subscription, Subscribed, "be told of topics from now on")

METHODS: dict[str, Method[Any, Any]] = {
    method.name: method
    for method in (
        STATUS, SNAPSHOT, ADD_SPECIMEN, START_RUN, END_RUN, ACKNOWLEDGE, CHOOSE_STYLE, RUNS, RUN,
        SUBSCRIBE,
        *PUBLISH_METHODS, *SAMPLE_METHODS, *BENCH_METHODS, *SCREEN_METHODS,
    )
}  # fmt: skip

ON_SNAPSHOT = Topic("snapshot", Live, replaceable=True, about="the load and the run as they go")
ON_EVENT = Topic("event", RunEvent, replaceable=False, about="what happened in the live run")
ON_MASS = Topic("mass", MassReading, replaceable=True, about="what the balance shows")
ON_HEALTH = Topic("health", Health, replaceable=True, about="how the instruments are")

TOPICS: dict[str, Topic[Any]] = {
    topic.name: topic for topic in (ON_SNAPSHOT, ON_EVENT, ON_RECORD, ON_MASS, ON_HEALTH)
}

#: What a subscriber is given.
Told = Live | RunEvent | RecordAdded | MassReading | Health
