"""The events of a run. Each is a fact with its time, and is stored with the run."""

from dataclasses import dataclass

from ramphold.core._cues import CueKind, PacingStart, Style
from ramphold.core._states import RunState
from ramphold.core._warnings import WarningEvent


@dataclass(frozen=True, slots=True, kw_only=True)
class StateChanged:
    """The run changed its state, for a reason given in one phrase.

    `t_ns` is when the change was recognised, `since_ns` when the new state began.
    """

    t_ns: int
    since_ns: int
    before: RunState
    after: RunState
    reason: str
    stress_psi: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsLost:
    """There is no usable reading since `since_ns`: the load is unknown."""

    t_ns: int
    since_ns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsResumed:
    """A usable reading came after a gap of `gap_s` seconds."""

    t_ns: int
    gap_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CueGiven:
    """The operator got a new cue: what to do, and how far in full strokes."""

    t_ns: int
    kind: CueKind
    size: float | None
    after_psi: float | None
    deviation_psi: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StyleChosen:
    """The run is paced in this style from now on."""

    t_ns: int
    style: Style


@dataclass(frozen=True, slots=True, kw_only=True)
class RunTakenUp:
    """A daemon that was started anew follows the run on, `gap_s` after the reading before."""

    t_ns: int
    gap_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HandLearned:
    """What a complete run taught of press and hand; the next run by both starts from it.

    Attributes:
        t_ns: when the run was complete.
        start: what to start from.
        cues: cues that asked the hand to do something.
        said_again: those of them that had to be said again, since the load did not follow.
    """

    t_ns: int
    start: PacingStart
    cues: int
    said_again: int


Event = (
    StateChanged
    | ReadingsLost
    | ReadingsResumed
    | CueGiven
    | StyleChosen
    | RunTakenUp
    | HandLearned
    | WarningEvent
)
