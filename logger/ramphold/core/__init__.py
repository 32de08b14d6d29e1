"""The run, followed without I/O, clock, thread or log: readings in, events and snapshots out."""

from ramphold.core._assessment import Assessment, Check, Verdict
from ramphold.core._commands import Acknowledge, ChooseStyle, Command, EndRun, TimePassed
from ramphold.core._cues import Cue, CueKind, PacingStart, Style
from ramphold.core._events import (
    CueGiven,
    Event,
    ReadingsLost,
    ReadingsResumed,
    StateChanged,
    StyleChosen,
)
from ramphold.core._noise import noise_sd
from ramphold.core._plan import Calibration, Limits, Rules, RunPlan
from ramphold.core._readings import MassReading, MassState, Quality, Reading
from ramphold.core._refeed import refeed
from ramphold.core._snapshot import Snapshot
from ramphold.core._states import ENDED, RunState, Trigger, next_state
from ramphold.core._tracker import Tracker
from ramphold.core._warnings import (
    StandingWarning,
    WarningAcknowledged,
    WarningCleared,
    WarningKind,
    WarningRaised,
)

__all__ = [
    "ENDED",
    "Acknowledge",
    "Assessment",
    "Calibration",
    "Check",
    "ChooseStyle",
    "Command",
    "Cue",
    "CueGiven",
    "CueKind",
    "EndRun",
    "Event",
    "Limits",
    "MassReading",
    "MassState",
    "PacingStart",
    "Quality",
    "Reading",
    "ReadingsLost",
    "ReadingsResumed",
    "Rules",
    "RunPlan",
    "RunState",
    "Snapshot",
    "StandingWarning",
    "StateChanged",
    "Style",
    "StyleChosen",
    "TimePassed",
    "Tracker",
    "Trigger",
    "Verdict",
    "WarningAcknowledged",
    "WarningCleared",
    "WarningKind",
    "WarningRaised",
    "next_state",
    "noise_sd",
    "refeed",
]
