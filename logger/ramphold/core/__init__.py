"""The run, followed without I/O, clock, thread or log: readings in, events and snapshots out."""

from ramphold.core._events import Event, ReadingsLost, ReadingsResumed, StateChanged
from ramphold.core._plan import Limits, Rules, RunPlan
from ramphold.core._readings import Quality, Reading
from ramphold.core._snapshot import Snapshot
from ramphold.core._states import ENDED, RunState, Trigger, next_state

__all__ = [
    "ENDED",
    "Event",
    "Limits",
    "Quality",
    "Reading",
    "ReadingsLost",
    "ReadingsResumed",
    "Rules",
    "RunPlan",
    "RunState",
    "Snapshot",
    "StateChanged",
    "Trigger",
    "next_state",
]
