"""What the pacing says to the operator, and what it starts from."""

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Cue", "CueKind", "PacingStart", "Style"]


class Style(StrEnum):
    """How the operator pumps."""

    SQUEEZE = "squeeze"
    STROKES = "strokes"


class CueKind(StrEnum):
    """What to do now. None of these words can be taken for opening the valve but the last."""

    WAIT = "wait"
    STROKE = "stroke"
    SQUEEZE = "squeeze"
    STOP = "stop"
    RETURN_LEVER = "return lever"
    TOP_UP = "top up"
    RELEASE = "release"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """What the operator should do, as of one reading.

    Attributes:
        t_ns: monotonic time of that reading, in ns.
        kind: what to do.
        size: how far to stroke, in full strokes; given while waiting too, for the stroke to come.
        due_s: time until the next stroke is due, or until the hold is up, in s.
        after_psi: load expected after the stroke; in a squeeze where the load comes to rest if
            the hand is told to stop now.
        mark_psi: where the ramp line will be once the hand has answered.
        load_psi: where the load will be by then if the hand goes on as it does.
        near_ceiling: whether a stroke was refused, or the pull is stopped, because of the ceiling.
    """

    t_ns: int
    kind: CueKind
    size: float | None = None
    due_s: float | None = None
    after_psi: float | None = None
    mark_psi: float | None = None
    load_psi: float | None = None
    near_ceiling: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PacingStart:
    """What the pacing takes for granted until it has learned better; kept with a run.

    Attributes:
        gain_factor: load gained per stroke, as a multiple of a usual press's.
        scatter: scatter of the operator's strokes, as a multiple of a usual hand's.
        sag_per_s: share of the load that is lost per second between strokes.
        delay_s: from a cue to the hand's answer.
    """

    gain_factor: float = 1.0
    scatter: float = 1.0
    sag_per_s: float = 0.003
    delay_s: float = 0.3
