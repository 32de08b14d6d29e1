"""The hands: what the pacing learned of each person on each press, and that it is forgotten."""

from typing import Annotated

from ramphold.control.act import Act, ActParams, Initials, Method, NoParams, Result, Text, doc
from ramphold.core import HandLearned, PacingStart
from ramphold.sample import HandForgotten


class ForgetHandParams(ActParams, frozen=True, kw_only=True):
    """Which hand is to be forgotten, by its initials, on which press."""

    hand: Initials
    press: Annotated[Text | None, doc("Name of the press; this one by default.")] = None


class HandKnown(Result, frozen=True, kw_only=True):
    """What the pacing knows of one hand on one press.

    Attributes:
        hand: initials of the person.
        press: name of the press.
        run: the newest run that taught something.
        utc_ns: when it ended, UTC in ns.
        learned: what it taught; None where that can't be used.
        start: what the next run by this hand on this press starts from.
        trouble: why what is kept can't be used; empty where it can.
    """

    hand: str
    press: str
    run: int
    utc_ns: int
    learned: HandLearned | None
    start: PacingStart
    trouble: str = ""


class HandsKnown(Result, frozen=True, kw_only=True):
    """Every hand that is known, and what any other one starts from.

    `trial_utc_ns` is when the press was tried out, UTC in ns; None where it was not.
    """

    hands: tuple[HandKnown, ...]
    new_hand: PacingStart
    trial_utc_ns: int | None = None


HANDS = Method(
    "hands", NoParams, HandsKnown, "what the pacing knows of each person's hand on each press"
)
FORGET_HAND = Act(
    "forget_hand",
    ForgetHandParams,
    HandForgotten,
    "start later runs by this hand on this press without what its runs so far taught",
    worked_out=("press", "up_to_run"),
)

HAND_METHODS = (HANDS, FORGET_HAND)
