"""What the pacing tells the operator, and what it starts from."""

from dataclasses import dataclass
from enum import StrEnum

from msgspec import Struct


class Style(StrEnum):
    """How the operator pumps."""

    SQUEEZE = "squeeze"
    STROKES = "strokes"


class CueKind(StrEnum):
    """What to do now. Only the last two words can be taken for opening the valve.

    `PULL_ON`, `HANDS_OFF` and `OPEN_VALVE` repeat `SQUEEZE`, `STOP` and `RELEASE` for a hand that
    has not answered: a word that changes is seen again, one that stays is not.
    """

    WAIT = "wait"
    STROKE = "stroke"
    SQUEEZE = "squeeze"
    PULL_ON = "pull on"
    STOP = "stop"
    HANDS_OFF = "hands off"
    RETURN_LEVER = "return lever"
    TOP_UP = "top up"
    RELEASE = "release"
    OPEN_VALVE = "open valve"


class Cue(Struct, frozen=True, kw_only=True, gc=False):
    """What the operator should do, as of one reading.

    Attributes:
        t_ns: monotonic time of that reading, in ns.
        kind: what to do.
        size: how far to stroke, in full strokes; given while waiting too, for the stroke to come.
        due_s: time until the next stroke is due, or until the hold is up, in s.
        after_psi: load expected after the stroke; in a squeeze where the load comes to rest if
            the hand is told to stop now.
        mark_psi: where the load should be once the hand has answered; None in the release, and
            in a ramp while a stroke that was called rises or, unanswered, is given longer.
        load_psi: where the load will be by then if the hand goes on as it does; None with it.
        ahead_psi: the mark in 1, 2, 3 and 4 s.
        pace: the pace asked for, as a share of an even pull along the line; None where the
            lever should not move.
        near_ceiling: whether a pull that goes on would cross the ceiling.
    """

    t_ns: int
    kind: CueKind
    size: float | None = None
    due_s: float | None = None
    after_psi: float | None = None
    mark_psi: float | None = None
    load_psi: float | None = None
    ahead_psi: tuple[float, ...] = ()
    pace: float | None = None
    near_ceiling: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PacingStart:
    """What the pacing assumes until it has learned better; kept with a run.

    `Tracker.learned` gives the same of a run: what the next one by this hand on this press may
    start from.

    Attributes:
        gain_factor: load gained per stroke, as a multiple of a usual press's.
        gain_sd: standard deviation of the logarithm of that factor. Two of it reach from half to
            nearly three times a usual pump; a trial of the press says it better.
        scatter: scatter of the operator's strokes, as a multiple of a usual hand's.
        sag_per_s: share of the load that is lost per second between strokes.
        delay_s: from a cue to the hand's answer.
        follow_per_s: pace that the hand makes of a distance it sees, in psi/s for each psi. A hand
            of higher gain than assumed oscillates, one of lower gain only lags.
        base_pace: pace that it pulls at whatever the distance, as a share of an even pull.
        top_up_per_s: what a top-up gains for each second that it is cued, in full strokes. It
            begins as a rather fast hand's: what falls short is topped up again.
    """

    gain_factor: float = 1.0
    gain_sd: float = 0.5
    scatter: float = 1.0
    sag_per_s: float = 0.003
    delay_s: float = 0.35
    follow_per_s: float = 1.0
    base_pace: float = 0.6
    top_up_per_s: float = 0.055
