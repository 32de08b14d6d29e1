"""Runs as they are stored: list them, read one, draw its load."""

from typing import Annotated

from msgspec import Meta

from ramphold.control.act import Method, Number, PageParams, Params, Result
from ramphold.control.run_methods import RunEvent
from ramphold.core import RunState
from ramphold.sample import SpecimenAdded
from ramphold.wire import RunRecord


class RunParams(Params, frozen=True, kw_only=True):
    """A run by its number."""

    run: Number


class TraceParams(RunParams, frozen=True, kw_only=True):
    """The load of a run, live or ended, in at most `most` points."""

    most: Annotated[int, Meta(ge=20, le=4000)] = 1000


class Runs(Result, frozen=True, kw_only=True):
    """Runs, newest first."""

    runs: tuple[RunRecord, ...]


class RunDetail(Result, frozen=True, kw_only=True):
    """A run with its specimen and its events."""

    run: RunRecord
    specimen: SpecimenAdded
    events: tuple[RunEvent, ...]


class LoadCurve(Result, frozen=True, kw_only=True):
    """The load of a run over time, with the plan that it is compared with.

    All times are in s since the ramp began; since the start of the run where it has not begun, and
    then `line_psi` is empty.

    Attributes:
        run: its number.
        state: its state.
        load_psi: unbroken lines of (time, stress in psi): the least and the greatest raw reading of
            each short time, so that no spike is lost.
        states: when each state began, in order.
        line_psi: corners (time, stress in psi) of the planned line, to the end of the hold.
        target_psi: the plan's target.
        band_psi: least and greatest stress of the hold band.
        hold_s: when the hold begins and ends; None before the hold.
        ceiling_psi, rating_psi: the plan's limits over the area of the bore.
        area_in2: that area, for the load in lbf.
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


RUNS = Method("runs", PageParams, Runs, "the runs, newest first")
RUN = Method("run", RunParams, RunDetail, "one run: specimen, plan, state, assessment and events")
TRACE = Method(
    "trace",
    TraceParams,
    LoadCurve,
    "the load of a run, live or ended, as few points, with its planned line, band and limits",
)

RUN_QUERIES = (RUNS, RUN, TRACE)
