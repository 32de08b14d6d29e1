"""The part of the table that a screen lives on: a run's load as points, and when to ask again."""

from typing import Annotated

from msgspec import Meta

from ramphold.control._basis import Method, Number, Params, Result, Topic
from ramphold.core import RunState

__all__ = ["ON_RECORD", "SCREEN_METHODS", "TRACE", "LoadTrace", "RecordAdded", "TraceWanted"]


class TraceWanted(Params, frozen=True, kw_only=True):
    """The load of a run, live or ended, in at most so many points."""

    run: Number
    most: Annotated[int, Meta(ge=20, le=4000)] = 1000


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

SCREEN_METHODS = (TRACE,)

# Never replaced: a screen that shows one sample would miss its record for another's.
ON_RECORD = Topic("record", RecordAdded, replaceable=False, about="a record was added")
