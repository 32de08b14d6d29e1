"""The events of a run. Each is a fact with its time, and is stored with the run."""

from msgspec import Struct

from ramphold.core._cues import CueKind, PacingStart, Style
from ramphold.core._states import RunState
from ramphold.core._warnings import WarningEvent


class StateChanged(Struct, frozen=True, kw_only=True):
    """The run changed its state, for a reason given in one phrase.

    `t_ns` is when the change was recognised, `since_ns` when the new state began.
    """

    t_ns: int
    since_ns: int
    before: RunState
    after: RunState
    reason: str
    stress_psi: float | None


class ReadingsLost(Struct, frozen=True, kw_only=True):
    """There is no usable reading since `since_ns`: the load is unknown."""

    t_ns: int
    since_ns: int


class ReadingsResumed(Struct, frozen=True, kw_only=True):
    """A usable reading came after a gap of `gap_s` seconds."""

    t_ns: int
    gap_s: float


class CueGiven(Struct, frozen=True, kw_only=True):
    """The operator got a new cue: what to do, and how far in full strokes."""

    t_ns: int
    kind: CueKind
    size: float | None
    after_psi: float | None
    deviation_psi: float | None


class StyleChosen(Struct, frozen=True, kw_only=True):
    """The run is paced in this style from now on."""

    t_ns: int
    style: Style


class RunTakenUp(Struct, frozen=True, kw_only=True):
    """A daemon that was started anew follows the run on, `gap_s` after the reading before."""

    t_ns: int
    gap_s: float


class HandLearned(Struct, frozen=True, kw_only=True):
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
