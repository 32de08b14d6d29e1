"""What the press pane's words depend on: a few facts, each one of a few values."""

from enum import StrEnum

from msgspec import Struct


class Link(StrEnum):
    """Whether the daemon is heard."""

    UP = "up"
    OPENING = "opening"
    LOST = "lost"


class RunStage(StrEnum):
    """Where a run is; `ENDING` is one that is over and not yet on the disk."""

    NONE = "none"
    READY = "ready"
    SEATING = "seating"
    RAMP = "ramp"
    HOLD = "hold"
    RELEASE = "release"
    ENDING = "ending"
    COMPLETE = "complete"
    STOPPED = "stopped"
    INTERRUPTED = "interrupted"


class LoadLevel(StrEnum):
    """What the load is, from nothing to over the rating, or why it is not known.

    `RESIDUAL` is what a run that has ended left on the cell. It is residual until it has been off
    once, or rises again.
    """

    UNKNOWN = "unknown"
    SATURATED = "saturated"
    NONE = "none"
    RESIDUAL = "residual"
    CONTACT = "contact"
    UNDER_WAY = "under way"
    OVER_TARGET = "over target"
    OVER_CEILING = "over ceiling"
    OVER_RATING = "over rating"


class Recording(StrEnum):
    """Whether the readings are kept: of a live run they are, unless the disk refuses them."""

    NO = "no"
    YES = "yes"
    FAILING = "failing"


class Warned(StrEnum):
    """What the gravest latched warning is about."""

    NOTHING = "nothing"
    NOT_RECORDED = "not recorded"
    NO_ANSWER = "no answer"
    JUMPED = "jumped"
    OVER_CEILING = "over ceiling"
    NEAR_RATING = "near rating"
    OVER_RATING = "over rating"


class WarnedStage(StrEnum):
    """How far that warning is: its cause stands, has passed, or was acknowledged and stands."""

    STANDING = "standing"
    PASSED = "passed"
    ACKNOWLEDGED = "acknowledged"


class RunOutcome(StrEnum):
    """What an ended run came to, once that is written, and what a person decided of it."""

    NONE = "none"
    PASSED = "passed"
    FAILED = "failed"
    COUNTS = "failed, but counts"
    LEFT_OUT = "left out"


class Ask(StrEnum):
    """What the pacing asks the hand to do: a cue by its own name, or what comes of one."""

    NOTHING = "nothing"
    WAIT = "wait"
    LET_CATCH_UP = "let the line catch up"
    STROKE_SOON = "stroke soon"
    STROKE = "stroke"
    SQUEEZE = "squeeze"
    FASTER = "faster"
    SLOWER = "slower"
    PULL_ON = "pull on"
    STOP = "stop"
    HANDS_OFF = "hands off"
    RETURN_LEVER = "return lever"
    TOP_UP = "top up"
    RELEASE = "release"
    OPEN_VALVE = "open valve"
    TOO_FEW = "too few readings"


#: What asks for a pull, now or after the lever's way back.
PULLS = frozenset(
    {
        Ask.STROKE_SOON,
        Ask.STROKE,
        Ask.SQUEEZE,
        Ask.FASTER,
        Ask.PULL_ON,
        Ask.RETURN_LEVER,
        Ask.TOP_UP,
    }
)
#: The run is live: its readings are followed.
LIVE = frozenset({RunStage.READY, RunStage.SEATING, RunStage.RAMP, RunStage.HOLD, RunStage.RELEASE})


class PressSituation(Struct, frozen=True):
    """All that the words at the press depend on; figures are put in afterwards.

    Attributes:
        link, run, load, recording: how each is.
        warned, stage: the gravest latched warning, and how far it is.
        outcome: what the run that has ended came to.
        ask: what the pacing asks for.
        coarse: whether the least step of the load is too coarse for the target; said when ready.
    """

    link: Link = Link.UP
    run: RunStage = RunStage.NONE
    load: LoadLevel = LoadLevel.NONE
    recording: Recording = Recording.NO
    warned: Warned = Warned.NOTHING
    stage: WarnedStage = WarnedStage.PASSED
    outcome: RunOutcome = RunOutcome.NONE
    ask: Ask = Ask.NOTHING
    coarse: bool = False
