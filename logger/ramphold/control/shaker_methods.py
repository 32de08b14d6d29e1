"""The shaker: start it, ask what is on it, end it."""

from typing import Annotated

from ramphold.control.act import (
    Above0,
    Act,
    ActParams,
    Method,
    NoParams,
    Number,
    Result,
    SampleKey,
    doc,
)
from ramphold.sample import ShakingEnded, ShakingStarted


class StartShakingParams(ActParams, frozen=True, kw_only=True):
    """The shaker runs: for a sample's sieve analysis, or for a specimen after its crush."""

    sample: SampleKey | None = None
    specimen: Annotated[Number | None, doc("Shake this specimen, after its crush.")] = None
    planned_s: Annotated[Above0 | None, doc("How long; the edition's time by default.")] = None


class EndShakingParams(ActParams, frozen=True, kw_only=True):
    """Number of the record that started what is now taken off the shaker."""

    shaking: Number


class ShakingNow(Result, frozen=True, kw_only=True):
    """What is on the shaker, also after its time is up, until someone takes it off.

    Attributes:
        shaking: number of the record that started it.
        sample, laboratory_number: the sample whose sieve analysis or specimen it is, if any.
        specimen, label: the specimen; None for the sieve analysis.
        operator: who started it.
        planned_s: how long it is to be shaken, in s.
        to_go_s: time left in s when the daemon answered; negative once it is up.
    """

    shaking: int
    sample: int | None
    laboratory_number: str | None
    specimen: int | None
    label: str | None
    operator: str
    planned_s: float
    to_go_s: float


class Shakings(Result, frozen=True, kw_only=True):
    """Everything on the shakers of the bench, the first to finish in front."""

    shakings: tuple[ShakingNow, ...]


SHAKINGS = Method("shakings", NoParams, Shakings, "what is on the shaker, and for how much longer")
START_SHAKING = Act(
    "start_shaking",
    StartShakingParams,
    ShakingStarted,
    "start the shaker, for a sieve analysis or a specimen",
    worked_out=("planned_s",),
)
END_SHAKING = Act(
    "end_shaking",
    EndShakingParams,
    ShakingEnded,
    "take it off the shaker, before its time is up or after",
    worked_out=("specimen",),
)

SHAKER_METHODS = (SHAKINGS, START_SHAKING, END_SHAKING)
