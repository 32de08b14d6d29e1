"""Specimens: added to a sample, ticked off before the press, counted or left out."""

from typing import Annotated

from msgspec import Meta

from ramphold.control.act import (
    Above0,
    Act,
    ActParams,
    AtLeast0,
    Ledger,
    Number,
    Reason,
    SampleKey,
    SignedActParams,
    Text,
    doc,
)
from ramphold.core import RunState
from ramphold.errors import CommandRefused
from ramphold.sample import ExclusionDecided, RunDecided, SpecimenAdded, Tick, Ticked

# --- parameters --------------------------------------------------------------------------------


class AddSpecimenParams(ActParams, frozen=True, kw_only=True):
    """A charge of proppant to be crushed; of a sample, or of none."""

    sample: SampleKey | None = None
    label: Annotated[Text, doc("What the laboratory calls it.")]
    target_psi: Annotated[AtLeast0, doc("Target stress; 0 for a blank, sieved uncrushed.")]
    bore_in: Annotated[Above0, doc("Bore of the cell.")] = 2.0
    cell: Annotated[str, Meta(max_length=200, description="Which cell, for its wear.")] = ""


class TickParams(ActParams, frozen=True, kw_only=True):
    """A step before the press that was done; `done` False takes the tick back."""

    specimen: Number
    what: Tick
    done: bool = True


class DecideExclusionParams(ActParams, frozen=True, kw_only=True):
    """Leave a specimen out of the result, or take it back in, and why."""

    specimen: Number
    excluded: bool = True
    reason: Annotated[Reason, doc("Why; the report prints it.")]


class DecideRunParams(SignedActParams, frozen=True, kw_only=True):
    """Whether a run counts, whatever its assessment says, and why."""

    run: Number
    counts: bool
    reason: Annotated[Reason, doc("Why; the report prints it.")]


# --- checks ------------------------------------------------------------------------------------


def _changes_something(decided: ExclusionDecided, ledger: Ledger) -> None:
    before = [
        one
        for one in ledger.records_of_specimen(decided.specimen)
        if isinstance(one, ExclusionDecided)
    ]
    if decided.excluded == bool(before and before[-1].excluded):
        how = "left out already" if decided.excluded else "not left out"
        raise CommandRefused(f"specimen {decided.specimen} is {how}")


def _is_the_run_that_is_judged(decided: RunDecided, ledger: Ledger) -> None:
    runs = ledger.runs_of(decided.specimen)
    (run,) = [one for one in runs if one.id == decided.run]
    if run.ended_t_ns is None:
        raise CommandRefused(f"run {run.id} is live: decide when it has ended")
    if run.state is RunState.INTERRUPTED:
        raise CommandRefused(f"run {run.id} was interrupted: nobody saw its end, it never counts")
    if run is not runs[-1]:
        raise CommandRefused(f"run {run.id} is not judged: run {runs[-1].id} of its specimen is")


# --- declarations ------------------------------------------------------------------------------

ADD_SPECIMEN = Act(
    "add_specimen",
    AddSpecimenParams,
    SpecimenAdded,
    "add a specimen to be crushed",
    worked_out=("specimen", "press"),
)
TICK = Act(
    "tick",
    TickParams,
    Ticked,
    "tick a step before the press as done; a zeroed load needs a zero that was read",
    worked_out=("zero",),
)
DECIDE_EXCLUSION = Act(
    "decide_exclusion",
    DecideExclusionParams,
    ExclusionDecided,
    "leave a specimen out of the result, or take it back in, with a reason",
    checks=(_changes_something,),
)
DECIDE_RUN = Act(
    "decide_run",
    DecideRunParams,
    RunDecided,
    "decide whether a run counts, whatever its assessment says, with a reason",
    checks=(_is_the_run_that_is_judged,),
    worked_out=("specimen", "signed"),
)

SPECIMEN_METHODS = (ADD_SPECIMEN, TICK, DECIDE_EXCLUSION, DECIDE_RUN)
