"""The run without I/O, clock, threads or log: readings in, events and snapshots out."""

from ramphold.core._assessment import Assessment, Check, Verdict
from ramphold.core._commands import (
    Acknowledge,
    ChooseStyle,
    Command,
    EndRun,
    NotRecorded,
    RecordedAgain,
    TakeUp,
    TimePassed,
)
from ramphold.core._cues import Cue, CueKind, PacingStart, Style
from ramphold.core._events import (
    CueGiven,
    Event,
    HandLearned,
    ReadingsLost,
    ReadingsResumed,
    RunTakenUp,
    StateChanged,
    StyleChosen,
)
from ramphold.core._noise import noise_sd
from ramphold.core._pacing_start import (
    check_pacing_start,
    coarse_below_psi,
    coarse_step_pct,
    pacing_start,
)
from ramphold.core._plan import Calibration, Limits, Rules, RunPlan
from ramphold.core._readings import MassReading, MassState, Quality, Reading
from ramphold.core._refeed import refeed
from ramphold.core._snapshot import Snapshot
from ramphold.core._states import ENDED, RunState, Trigger, next_state
from ramphold.core._tracker import Tracker
from ramphold.core._trial import (
    TRIAL,
    Medium,
    MediumTrial,
    PressTrial,
    PullSeen,
    Relaxation,
    SizeSeen,
    StepKind,
    StrokeSeen,
    TrialStep,
)
from ramphold.core._trial_judge import judge_trial
from ramphold.core._warnings import (
    Rating,
    StandingWarning,
    WarningAcknowledged,
    WarningCleared,
    WarningEvent,
    WarningKind,
    WarningRaised,
    Warnings,
)

__all__ = [
    "ENDED",
    "TRIAL",
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
    "HandLearned",
    "Limits",
    "MassReading",
    "MassState",
    "Medium",
    "MediumTrial",
    "NotRecorded",
    "PacingStart",
    "PressTrial",
    "PullSeen",
    "Quality",
    "Rating",
    "Reading",
    "ReadingsLost",
    "ReadingsResumed",
    "RecordedAgain",
    "Relaxation",
    "Rules",
    "RunPlan",
    "RunState",
    "RunTakenUp",
    "SizeSeen",
    "Snapshot",
    "StandingWarning",
    "StateChanged",
    "StepKind",
    "StrokeSeen",
    "Style",
    "StyleChosen",
    "TakeUp",
    "TimePassed",
    "Tracker",
    "TrialStep",
    "Trigger",
    "Verdict",
    "WarningAcknowledged",
    "WarningCleared",
    "WarningEvent",
    "WarningKind",
    "WarningRaised",
    "Warnings",
    "check_pacing_start",
    "coarse_below_psi",
    "coarse_step_pct",
    "judge_trial",
    "next_state",
    "noise_sd",
    "pacing_start",
    "refeed",
]
