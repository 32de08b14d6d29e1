"""The run, followed without I/O, clock, thread or log: readings in, events and snapshots out."""

from ramphold.core._assessment import Assessment, Check, Verdict
from ramphold.core._commands import Command, EndRun, TimePassed
from ramphold.core._events import Event, ReadingsLost, ReadingsResumed, StateChanged
from ramphold.core._plan import Limits, Rules, RunPlan
from ramphold.core._readings import MassReading, MassState, Quality, Reading
from ramphold.core._refeed import refeed
from ramphold.core._snapshot import Snapshot
from ramphold.core._states import ENDED, RunState, Trigger, next_state
from ramphold.core._tracker import Tracker

__all__ = [
    "ENDED",
    "Assessment",
    "Check",
    "Command",
    "EndRun",
    "Event",
    "Limits",
    "MassReading",
    "MassState",
    "Quality",
    "Reading",
    "ReadingsLost",
    "ReadingsResumed",
    "Rules",
    "RunPlan",
    "RunState",
    "Snapshot",
    "StateChanged",
    "TimePassed",
    "Tracker",
    "Trigger",
    "Verdict",
    "next_state",
    "refeed",
]
